/** A meter on a serial line: what it may answer, and what is said when it answers anything else. */
import { Duplex } from "node:stream";
import { describe, expect, it } from "vitest";
import { readMeterText } from "../../src/bench/meter-value.ts";
import { MeterError, ScpiMeter } from "../../src/bench/scpi-meter.ts";
import { createVirtualClock } from "../../src/clock/virtual-clock.ts";

const IDENTITY = "ACME,DMM-7,S1234,1.02";

/** Answers each query by the next of its list for it; undefined: by nothing. */
function meterThat(readings: readonly (string | undefined)[], identity = IDENTITY) {
  const answers = [...readings];
  const heard: string[] = [];
  const late: { text: string | null } = { text: null };
  const stream: Duplex = new Duplex({
    read: () => undefined,
    write: (chunk: Buffer, _encoding, done) => {
      const line = chunk.toString("latin1").trimEnd();
      heard.push(line);
      if (late.text !== null) stream.push(`${late.text}\r\n`);
      late.text = null;
      if (line === "*IDN?") stream.push(`${identity}\r\n`);
      if (line === "READ?") {
        const answer = answers.shift();
        if (answer !== undefined) stream.push(`${answer}\r\n`);
      }
      done();
    },
  });
  const clock = createVirtualClock();
  const port = { name: "/dev/ttyUSB1", stream, close: async () => void stream.destroy() };
  return { meter: new ScpiMeter(port, clock), clock, stream, heard, late };
}

describe("a SCPI meter", () => {
  it("says who it is, is set to DC volts and read", async () => {
    const { meter, heard } = meterThat(["+1.20503E+01", "-3.4E-1"]);
    expect(await meter.identify()).toBe("ACME DMM-7 S1234");
    meter.configure();
    expect(await meter.read()).toEqual({ meterV: 12.0503, digitV: expect.closeTo(1e-4, 12) });
    expect(await meter.read()).toEqual({ meterV: -0.34, digitV: expect.closeTo(0.01, 12) });
    expect(heard).toEqual(["*IDN?", "CONF:VOLT:DC", "READ?", "READ?"]);
  });

  it.each([
    ["over its range", "9.9E37", /over its range/],
    ["over its range below", "-9.900000E+37", /over its range/],
    ["that it has none", "9.91E37", /has no number/],
    ["a word", "OVLD", /answered "OVLD": expected volts/],
    ["nothing in a line", "", /answered "": expected volts/],
    ["an error", '-113,"Undefined header"', /answered "-113,"Undefined header"": expected/],
    ["two numbers", "1.0,2.0", /expected/],
    ["volts of a power line", "1.0E6", /at most 1000 V/],
    ["marks that would move a cursor", "\u001b[2J5", /answered "\\u001b\[2J5"/],
  ])("is asked again after it answered %s", async (_what, answer, said) => {
    const { meter } = meterThat([answer, "5.003"]);
    await meter.identify();
    await expect(meter.read()).rejects.toThrow(said);
    expect(await meter.read()).toMatchObject({ meterV: 5.003 });
  });

  it("is said to be silent, and its late answer is not taken for the next one", async () => {
    const { meter, clock, late } = meterThat([undefined, "46.02"]);
    await meter.identify();
    const silent = expect(meter.read()).rejects.toThrow(/did not answer READ\? within 10 s/);
    await clock.advance(10_000);
    await silent;
    late.text = "5.003";
    expect(await meter.read()).toMatchObject({ meterV: 46.02 });
  });

  it("is refused when something else answers its name", async () => {
    await expect(meterThat([], "hello").meter.identify()).rejects.toThrow(
      /answered \*IDN\? by "hello", expected maker, model, serial/,
    );
  });

  it("is lost with its port, once asked and later", async () => {
    const { meter, stream } = meterThat([undefined]);
    await meter.identify();
    const lost = expect(meter.read()).rejects.toThrow(MeterError);
    stream.destroy();
    await lost;
    await expect(meter.read()).rejects.toThrow(/its port was closed/);
  });
});

describe("readMeterText()", () => {
  it.each([
    ["12.05", 12.05, 0.01],
    ["12.050 V", 12.05, 0.001],
    ["-5", -5, 1],
    [".5", 0.5, 0.1],
    ["+1.2050E+01", 12.05, 0.001],
    ["5.", 5, 1],
  ])("takes %s", (text, meterV, digitV) => {
    expect(readMeterText(text)).toEqual({ meterV, digitV: expect.closeTo(digitV, 12) });
  });

  it.each(["", "V", "12,05", "1e", "0x10", "NaN", "Infinity", "12.05 mV", "5 5", "."])(
    "refuses %j",
    (text) => {
      expect(readMeterText(text)).toEqual({ why: expect.stringMatching(/^expected /) });
    },
  );
});
