/** Boards that are not as they should be, on the scripted bench: what fails, and by which name. */
import { describe, expect, it } from "vitest";
import { eventsOf, type Rehearsal, rehearse, untilEnd } from "./rehearse.ts";

const lastReading = (rehearsal: Rehearsal) => eventsOf(rehearsal, "reading").at(-1);

describe("warm-up", () => {
  it("waits for each section to pull its net low and says when it did", async () => {
    const rehearsal = rehearse({ board: { warmAfterMs: 2500 } });
    expect((await untilEnd(rehearsal)).verdict).toBe("pass");
    const warm = eventsOf(rehearsal, "net-warm");
    expect(new Set(warm.map(({ net }) => net))).toEqual(new Set(["Q", "QN"]));
    expect(Math.min(...warm.map(({ validMs }) => validMs))).toBeGreaterThanOrEqual(2500);
    expect(eventsOf(rehearsal, "warm-up-ended")[0]).toMatchObject({ warm: true, cold: [] });
  });

  it("fails a section that never pulls low, by its net and volts, after its whole time", async () => {
    const rehearsal = rehearse({ board: { dead: ["QN"] } });
    const end = await untilEnd(rehearsal);
    expect(end).toMatchObject({ verdict: "fail", cause: "not warm", allProvedOff: true });
    expect(end.detail).toMatch(/QN \(V1a\) reads 4[23]\.\d\d V, expected at or below 18 V/);
    const ended = eventsOf(rehearsal, "warm-up-ended")[0];
    expect(ended?.cold.map(({ net }) => net)).toEqual(["QN"]);
    expect(ended?.tookMs).toBeGreaterThanOrEqual(rehearsal.plan.warmUp.timeoutMs);
    expect(eventsOf(rehearsal, "step-begun")).toEqual([]);
  });

  const saw = "gave no reading (lead not proved), the converter saw 0.00 V";
  const next =
    "Measure QN on the board by hand: if it stays there at 0 V too, check its plate load";

  it("tells of a net that stays at 0 what was seen, and that lead or plate load is at fault", async () => {
    const rehearsal = rehearse({ prepare: ({ bench }) => bench.mishaps.openLeads.add("QN") });
    const end = await untilEnd(rehearsal);
    expect(end).toMatchObject({ verdict: "void", cause: "not warm" });
    expect(end.detail).toContain(`QN (V1a) ${saw}, expected at or below 18 V. ${next}`);
    const { firstMiss } = rehearsal.run.snapshot();
    expect(firstMiss).toMatchObject({ net: "QN", volts: null });
    expect(firstMiss?.text).toContain(`${saw}. ${next}`);
  });

  it("does not call a net low whose last look gave no reading, though it was low before", async () => {
    const rehearsal = rehearse({
      prepare: ({ bench, journal }) => {
        let code = 1;
        journal.subscribe(({ event }) => {
          if (event.kind === "net-warm" && event.net === "QN") code = 0;
        });
        const read = bench.read.bind(bench);
        bench.read = async (names, samples) =>
          (await read(names, samples)).map((raw) => {
            if (raw.channel !== "QN") return raw;
            // A step above nothing is a low; nothing on a lead not proved is no reading.
            return { ...raw, sum: raw.count * code, min: code, max: code };
          });
      },
    });
    const end = await untilEnd(rehearsal);
    expect(eventsOf(rehearsal, "net-warm").map(({ net }) => net)).toContain("QN");
    expect(end.cause).toBe("not warm");
    expect(end.detail).toContain(`QN (V1a) ${saw}, expected at or below 18 V`);
    expect(end.detail).not.toContain("low, but");
  });
});

describe("a weak section", () => {
  it("warms by class and fails its step as margin short", async () => {
    const rehearsal = rehearse({ board: { weakLowV: { Q: 16 } } });
    const end = await untilEnd(rehearsal);
    expect(end).toMatchObject({ verdict: "fail", cause: "first fail" });
    const miss = lastReading(rehearsal)?.readings.find(({ result }) => result === "fail");
    expect(miss).toMatchObject({ channel: "Q", class: "low", reason: "margin short" });
    expect(end.detail).toMatch(
      /step "reset": Q .* reads 1[56]\.\d\d V, low, expected low \(at or below VOL 14 V\)/,
    );
  });
});

describe("a hold proof", () => {
  it("fails a latch that forgets once its input is released", async () => {
    const rehearsal = rehearse({ board: { forgets: true } });
    const end = await untilEnd(rehearsal);
    expect(end).toMatchObject({ verdict: "fail", cause: "first fail" });
    expect(lastReading(rehearsal)).toMatchObject({ step: 2, part: "hold" });
    expect(end.detail).toMatch(/hold "Q set", held: Q/);
  });

  it("reads that set and reset are inactive before it watches, for the hold and for the flip", async () => {
    const rehearsal = rehearse();
    await untilEnd(rehearsal);
    const inactive = eventsOf(rehearsal, "reading").filter(({ part }) => part === "inactive");
    expect(
      inactive.map(({ readings }) => readings.map((one) => `${one.channel} ${one.result}`)),
    ).toEqual([
      ["SET pass", "RESET pass"],
      ["SET pass", "RESET pass"],
    ]);
  });

  it("watches its whole length while the other lines move, and puts them back", async () => {
    const rehearsal = rehearse();
    await untilEnd(rehearsal);
    const progress = eventsOf(rehearsal, "hold-progress");
    const hold = progress.filter(({ part }) => part === "hold").at(-1);
    const flip = progress.filter(({ part }) => part === "flip").at(-1);
    // 1200 ms read every 250 ms: 0, 250, 500, 750, 1000 and the end; moved at 500 and 1000.
    expect(hold).toMatchObject({ forMs: 1200, readingSets: 6, moves: 2 });
    expect(hold?.elapsedMs).toBeGreaterThanOrEqual(1200);
    // 600 ms: 0, 250, 500 and the end; moved once, and back again.
    expect(flip).toMatchObject({ forMs: 600, readingSets: 4, moves: 1 });
    expect(flip?.elapsedMs).toBeGreaterThanOrEqual(600);
    expect(progress).toHaveLength(2);
    const lamp = eventsOf(rehearsal, "lines").flatMap(({ set }) => set["LAMP"] ?? []);
    expect(lamp.at(-2)).toBe("low");
  });

  it("fails at the reading in which the state is lost, and keeps that reading whole", async () => {
    const rehearsal = rehearse({
      prepare: ({ bench }) =>
        bench.at(
          3000,
          () => void bench.setLines({ RESET: "high" }).then(() => bench.setLines({ RESET: "low" })),
        ),
    });
    const end = await untilEnd(rehearsal);
    expect(end).toMatchObject({ verdict: "fail", cause: "first fail" });
    const miss = lastReading(rehearsal);
    expect(miss).toMatchObject({ step: 2, part: "hold" });
    expect(miss?.readings.map(({ channel }) => channel)).toEqual(["SET", "RESET", "Q", "QN"]);
  });
});

describe("the journal of a run", () => {
  it("opens with its plan and rule and closes with its verdict", async () => {
    const rehearsal = rehearse();
    await untilEnd(rehearsal);
    const { events } = rehearsal.journal;
    expect(events[0]).toMatchObject({
      kind: "run-opened",
      rule: expect.stringMatching(/uncertainty not evaluated/),
    });
    expect(events[1]).toMatchObject({ kind: "controller", firmware: "scripted" });
    expect(events.at(-1)).toMatchObject({ kind: "run-closed", verdict: "pass" });
  });

  it("looks at every rail about once a second from the first relay to the last", async () => {
    const rehearsal = rehearse();
    await untilEnd(rehearsal);
    const watches = rehearsal.journal.entries.filter(({ event }) => event.kind === "watch");
    const gaps = watches.slice(1).map(({ ms }, index) => ms - (watches[index]?.ms ?? 0));
    expect(Math.max(...gaps)).toBeLessThan(1250);
    expect(Math.min(...gaps)).toBeGreaterThanOrEqual(1000);
  });

  it("is the same event for event when the same run is made again", async () => {
    const [one, other] = [rehearse(), rehearse()];
    await untilEnd(one);
    await untilEnd(other);
    expect(one.journal.entries).toEqual(other.journal.entries);
  });
});
