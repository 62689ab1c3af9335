/** Reset, memory that outlives it, interrupts and sleep: data sheet DS40002061B, sections named. */
import { describe, expect, it } from "vitest";
import { bareChip, idleCpu, pass, VECTOR } from "./bare-chip.ts";

const MCUSR = 0x54;
const DDRD = 0x0a;
const PORTD = 0x0b;
const SREG = 0x5f;

const DRIVE_AND_WAIT = `
  ldi r16, 0xfc
  out ${DDRD}, r16
  out ${PORTD}, r16
  sei
  ldi r17, 0x5a
  sts 0x200, r17
  end: rjmp end
`;

describe("reset", () => {
  it("lets go of every pin at once, whatever the cause (11.1)", () => {
    for (const cause of ["EXT", "BOR"] as const) {
      const { chip, pins, runTo } = bareChip(DRIVE_AND_WAIT, { startUpMs: 65 });
      runTo(70);
      expect(pins.at(-1)).toMatchObject({ drivenD: 0xfc, highD: 0xfc });
      chip.reset(cause);
      expect(pins.at(-1)).toMatchObject({ drivenD: 0, highD: 0, drivenB: 0, highB: 0 });
      expect(chip.peek(SREG)).toBe(0);
      runTo(130);
      expect(pins.at(-1)).toMatchObject({ drivenD: 0 });
      runTo(136);
      expect(pins.at(-1)).toMatchObject({ drivenD: 0xfc });
    }
  });

  it("by the watchdog lets go of every pin too (11.5)", () => {
    const { chip, pins, resets, runTo } = bareChip(
      `
      ldi r18, 0
      ldi r16, 0x18
      ldi r19, 0x08
      sts 0x60, r16
      sts 0x60, r19
      ${DRIVE_AND_WAIT}
    `,
      { startUpMs: 65 },
    );
    runTo(65 + 15);
    expect(pins.at(-1)).toMatchObject({ highD: 0xfc });
    runTo(65 + 17);
    expect(resets).toEqual(["POR", "WDT"]);
    expect(pins.at(-1)).toMatchObject({ drivenD: 0, highD: 0 });
    expect(chip.peek(SREG)).toBe(0);
  });

  it("adds its cause to those the program has not cleared, and power-on clears the rest (11.9.1)", () => {
    const { chip } = bareChip("end: rjmp end");
    expect(chip.peek(MCUSR)).toBe(0x01);
    chip.reset("EXT");
    expect(chip.peek(MCUSR)).toBe(0x03);
    chip.reset("BOR");
    expect(chip.peek(MCUSR)).toBe(0x07);
    chip.powerOff();
    chip.powerOn();
    expect(chip.peek(MCUSR)).toBe(0x01);
  });

  it("lets the program clear causes but not set them (11.9.1)", () => {
    const { chip, runTo } = bareChip(`
      ldi r16, 0x0e
      out 0x34, r16
      in r20, 0x34
      end: rjmp end
    `);
    chip.reset("EXT");
    runTo(1);
    expect(chip.peek(20)).toBe(0x02);
  });

  it("keeps SRAM, which only loss of power disturbs", () => {
    const { chip, runTo } = bareChip(DRIVE_AND_WAIT, { noise: () => 0xa7 });
    runTo(1);
    expect(chip.peek(0x200)).toBe(0x5a);
    chip.reset("EXT");
    expect(chip.peek(0x200)).toBe(0x5a);
    chip.powerOff();
    chip.powerOn();
    expect(chip.peek(0x200)).toBe(0xa7);
  });

  it("keeps EEPROM through reset and loss of power", () => {
    const { chip, runTo } = bareChip(`
      ldi r16, 7
      out 0x21, r16       ; address 7
      ldi r17, 0x42
      out 0x20, r17       ; data
      sbi 0x1f, 2         ; EEMPE
      sbi 0x1f, 1         ; EEPE
      end: rjmp end
    `);
    runTo(10);
    chip.powerOff();
    chip.powerOn();
    expect(chip.eepromBytes[7]).toBe(0x42);
    expect(chip.eepromBytes[8]).toBe(0xff);
  });
});

describe("power", () => {
  it("runs nothing and drives nothing without supply, while time goes on", () => {
    const { chip, pins, runTo } = bareChip(DRIVE_AND_WAIT);
    runTo(1);
    chip.powerOff();
    expect(pins.at(-1)).toMatchObject({ drivenD: 0, highD: 0 });
    chip.reset("EXT");
    runTo(100);
    expect(chip.nowMs).toBe(100);
    expect(pins.at(-1)).toMatchObject({ drivenD: 0 });
  });
});

/** Timer 0 matches every millisecond; the handler counts in r20. */
const MILLISECOND = `
  rjmp start
  _loc ${VECTOR.timer0MatchA}
  inc r20
  reti
  start: ldi r16, 2
  out 0x24, r16
  ldi r16, 249
  out 0x27, r16
  ldi r16, 3
  out 0x25, r16
  ldi r16, 2
  sts 0x6e, r16
`;

describe("interrupts", () => {
  it("wait one instruction after SEI, so that SEI then SLEEP never misses its wake-up (7.7)", () => {
    const { chip, runTo } = bareChip(`
      ${MILLISECOND}
      ldi r16, 1
      out 0x33, r16       ; sleep enable, idle
      ldi r18, 0
      ldi r19, 40
      wait: dec r18       ; past 1 ms with interrupts off: the match is pending
      brne wait
      dec r19
      brne wait
      sei
      sleep
      mov r21, r20        ; interrupts seen when the sleep ended
      cli
      end: rjmp end
    `);
    runTo(20);
    expect(chip.peek(21)).toBe(1);
  });

  it("wait one instruction after RETI: the program moves on between two of them (7.7)", () => {
    const { chip, runTo } = bareChip(`
      rjmp start
      _loc ${VECTOR.empty}
      inc r20
      reti
      start: ldi r16, 0x28
      sts 0xc1, r16       ; UDRE interrupt with an empty buffer: pending for ever
      sei
      again: inc r21
      inc r21
      inc r21
      rjmp again
    `);
    runTo(0.1);
    // Three of the four instructions of the loop count, one between any two interrupts.
    expect(chip.peek(20)).toBeGreaterThan(100);
    expect(chip.peek(21) / chip.peek(20)).toBeCloseTo(0.75, 1);
  });

  it("take 4 cycles to enter, 8 out of sleep (7.7.1)", () => {
    // Two programs alike but for sleep; the handler reads the timer, which counts every cycle.
    const read = (body: string): number => {
      const { chip, runTo } = bareChip(`
        rjmp start
        _loc ${VECTOR.timer0MatchA}
        in r20, 0x26
        end: rjmp end
        start: ldi r16, 100
        out 0x27, r16
        ldi r16, 2
        sts 0x6e, r16
        ldi r16, 1
        out 0x33, r16
        sei
        out 0x25, r16
        ${body}
      `);
      runTo(1);
      return chip.peek(20);
    };
    // The flag rises at count 101; NOPs hit that boundary exactly, sleep has no boundary to wait for.
    expect(read("nop\n".repeat(150))).toBe(101 + 4);
    expect(read("sleep\n nop")).toBe(101 + 8);
  });
});

describe("sleep", () => {
  it("ends at the very cycle of its interrupt: a pin toggled after each wake keeps time (10.3)", () => {
    const times: number[] = [];
    const bare = bareChip(`
      ${MILLISECOND}
      ldi r16, 1
      out 0x33, r16
      sbi ${DDRD}, 2
      sei
      again: sleep
      sbi 0x09, 2         ; writing one to PIND toggles the pin
      rjmp again
    `);
    let seen = bare.pins.length;
    for (let ms = 0.25; ms < 50; ms += 0.25) {
      bare.runTo(ms);
      for (; seen < bare.pins.length; seen += 1) {
        times.push(Math.floor(ms));
      }
    }
    // One toggle in each millisecond from the first match on, after one entry for direction alone.
    expect(times.slice(1)).toEqual(Array.from({ length: 49 }, (_, index) => index + 1));
  });

  it("runs the program once for each wake-up and not in between", () => {
    const { chip, runTo } = bareChip(`
      ${MILLISECOND}
      ldi r16, 1
      out 0x33, r16
      sei
      again: sleep
      inc r21
      rjmp again
    `);
    runTo(200.5);
    expect([chip.peek(20), chip.peek(21)]).toEqual([200, 200]);
  });

  it("does nothing without its enable bit (10.1)", () => {
    const { chip, runTo } = bareChip("sleep\n ldi r20, 1\n end: rjmp end");
    runTo(1);
    expect(chip.peek(20)).toBe(1);
  });

  it("never ends with interrupts off", () => {
    const { chip, runTo } = bareChip(`
      ${MILLISECOND}
      ldi r16, 1
      out 0x33, r16
      sleep
      ldi r21, 1
      end: rjmp end
    `);
    runTo(100);
    expect(chip.peek(21)).toBe(0);
  });

  it("refuses a mode that is not modelled", () => {
    const { runTo } = bareChip("ldi r16, 5\n out 0x33, r16\n sleep\n end: rjmp end");
    expect(() => runTo(1)).toThrow(/sleep mode 2; idle is modelled/);
  });
});

describe("run loop", () => {
  it("runs events of one cycle in the order they were set, and those they set in turn", () => {
    const cpu = idleCpu();
    const order: string[] = [];
    cpu.at(100, () => order.push("first"));
    cpu.at(50, () => {
      order.push("early");
      cpu.at(100, () => order.push("third"));
    });
    cpu.at(100, () => order.push("second"));
    pass(cpu, 100);
    expect(order).toEqual(["early", "first", "second", "third"]);
  });

  it("comes to the same state whether it runs in one stretch or in many", () => {
    const text = `
      ${MILLISECOND}
      ldi r16, 1
      out 0x33, r16
      sei
      again: inc r22
      sbrc r22, 3
      sleep
      add r23, r20
      rjmp again
    `;
    const whole = bareChip(text);
    whole.runTo(30);
    const parts = bareChip(text);
    for (let ms = 0.37; ms < 30; ms += 0.37) {
      parts.runTo(ms);
    }
    parts.runTo(30);
    const registers = (chip: typeof whole.chip): number[] =>
      Array.from({ length: 0x60 }, (_, address) => chip.peek(address));
    expect(registers(parts.chip)).toEqual(registers(whole.chip));
    expect(parts.chip.cycles).toBe(whole.chip.cycles);
  });

  it.each([
    ["SPI", "ldi r16, 0x40\n out 0x2c, r16", /SPI/],
    ["two-wire interface", "ldi r16, 4\n sts 0xbc, r16", /two-wire/],
    ["clock prescaler", "ldi r16, 0x80\n sts 0x61, r16", /CLKPR/],
  ])("refuses the use of %s instead of ignoring it", (_, text, message) => {
    const { runTo } = bareChip(`${text}\n end: rjmp end`);
    expect(() => runTo(1)).toThrow(message);
  });
});
