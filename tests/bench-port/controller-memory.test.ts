/** What a controller keeps of its rig, against the real firmware on the emulated controller. */
import { readFileSync } from "node:fs";
import { resolve } from "node:path";
import { afterEach, describe, expect, it } from "vitest";
import { connectController } from "../../src/bench/connect-controller.ts";
import {
  compareFirmware,
  FIRMWARE_VERSION,
  missingAbilities,
} from "../../src/bench/firmware-version.ts";
import { noWiring } from "../../src/bench/wiring.ts";
import { type EmulatedBench, openEmulatedBench } from "../../src/simulate/emulated-bench.ts";
import { connectedRig, rigWiring, settled } from "./bench-rig.ts";
import { scriptedFixture } from "./scripted-fixture.ts";

const firmwareFolder = resolve(import.meta.dirname, "../../firmware-protocol/firmware");
const hexText = readFileSync(resolve(firmwareFolder, "holdfast.hex"), "utf8");

const stands: EmulatedBench[] = [];
afterEach(() => {
  for (const emulated of stands.splice(0)) emulated.dispose();
});

function bench(eeprom?: Uint8Array): EmulatedBench {
  const emulated = openEmulatedBench({
    fixture: scriptedFixture(),
    hexText,
    ...(eeprom === undefined ? {} : { eeprom }),
  });
  stands.push(emulated);
  return emulated;
}

async function kept(rig: string): Promise<Uint8Array> {
  const emulated = bench();
  const { port, clock } = emulated;
  const controller = await connectController({ port, clock, wiring: noWiring });
  await controller.keepRig(rig);
  await controller.close();
  return emulated.eepromBytes();
}

async function connect(emulated: EmulatedBench, rig: string | null) {
  const { port, clock } = emulated;
  return connectController({ port, clock, wiring: { ...rigWiring, rig } });
}

describe("the rig that a controller keeps", () => {
  it("is none on a new chip, and then any files will do", async () => {
    const controller = await connect(bench(), "cabin-bench");
    await expect(controller.storedRig()).resolves.toEqual({ state: "none" });
  });

  it("has a copy of a calibration beside it, by its day, and names the channels it cannot say", async () => {
    const emulated = bench();
    const { port, clock } = emulated;
    const controller = await connectController({ port, clock, wiring: noWiring });
    const beyond = await controller.keepRig("cabin-bench", {
      day: "2026-05-01",
      channels: [
        { number: 7, gain: 1.002, offsetSteps: 0.5 },
        { number: 8, gain: 1.05, offsetSteps: 0 },
      ],
    });
    expect(beyond).toEqual([8]);
    expect(await controller.storedRig()).toMatchObject({ calibratedOn: "2026-05-01" });
    await controller.close();
  });

  it("survives a power cut, and the same rig's files are taken", async () => {
    const controller = await connect(bench(await kept("cabin-bench")), "cabin-bench");
    await expect(controller.storedRig()).resolves.toEqual({
      state: "kept",
      rig: "cabin-bench",
      calibratedOn: null,
    });
  });

  it("keeps another rig's files from being used, and says both names", async () => {
    await expect(connect(bench(await kept("cabin-bench")), "wheelhouse")).rejects.toMatchObject({
      code: "wiring-disagrees",
      message: expect.stringMatching(/wired into rig "cabin-bench".*for rig "wheelhouse"/),
    });
  });

  it("is told of by the first sixteen letters of a long name", async () => {
    const long = "wheelhouse-bench-of-the-port-watch";
    const controller = await connect(bench(await kept(long)), long);
    await expect(controller.storedRig()).resolves.toMatchObject({ rig: "wheelhouse-bench" });
  });

  it("is refused when a byte of it has changed, until it is erased", async () => {
    const eeprom = await kept("cabin-bench");
    const at = Buffer.from(eeprom).indexOf("cabin");
    eeprom[at] = (eeprom[at] ?? 0) ^ 1;
    await expect(connect(bench(eeprom), "cabin-bench")).rejects.toMatchObject({
      message: expect.stringContaining("is damaged, so it lets nothing close"),
    });
    const controller = await connect(bench(eeprom), null);
    await expect(controller.switchRail("heater", true)).rejects.toMatchObject({
      facts: { number: 116 },
    });
    await controller.keepRig(null);
    await controller.switchRail("heater", true);
  });

  it("cannot be changed while an output is on", async () => {
    const controller = await connect(bench(), null);
    await controller.setLines({ SET: "high" });
    await expect(controller.keepRig("cabin-bench")).rejects.toMatchObject({
      facts: { number: 111 },
    });
  });

  it("is no matter to firmware that keeps none", async () => {
    const { bench: older, clock } = await connectedRig();
    expect(await settled(clock, older.storedRig())).toEqual({ value: { state: "none" } });
    expect(await settled(clock, older.health())).toEqual({ value: null });
    expect(await settled(clock, older.keepRig("cabin-bench"))).toMatchObject({
      error: { code: "firmware-too-old" },
    });
  });
});

describe("what a controller tells of itself", () => {
  it("counts closings of outputs and room on the stack", async () => {
    const controller = await connect(bench(), null);
    await controller.setLines({ SET: "high", LAMP: "high" });
    await controller.setLines({ SET: "low" });
    await controller.setLines({ SET: "high" });
    const health = await controller.health();
    // RESET is released at high, so its output stays as it is.
    expect(health?.closings).toEqual([0, 0, 0, 2, 0, 1, 0, 0]);
    expect(health?.stackFree).toBeGreaterThan(64);
  });
});

describe("the firmware that ships", () => {
  it("has the version that this program expects", () => {
    const header = readFileSync(resolve(firmwareFolder, "core/version.h"), "utf8");
    expect(header).toContain(`#define FIRMWARE_VERSION "${FIRMWARE_VERSION}"`);
  });

  it.each([
    [FIRMWARE_VERSION, "same"],
    ["1.1.9", "older"],
    ["0.9.0", "older"],
    ["1.10.0", "newer"],
    ["2.0.0", "newer"],
    ["scripted", "unknown"],
    ["1.2", "unknown"],
  ] as const)("compares with %s as %s", (version, expected) => {
    expect(compareFirmware(version)).toBe(expected);
  });
});

describe("what a firmware is without", () => {
  it("is nothing with the shipped one", async () => {
    const controller = await connect(bench(), null);
    expect(missingAbilities([...(await controller.abilities())])).toEqual([]);
  });

  it("is said in words, in the order of the page; names nobody knows mean nothing", () => {
    const older = ["TRAIL", "ONCE", "SPREAD", "STEP", "BLOCK", "TRAIN", "STORE", "COUNT", "LATER"];
    expect(missingAbilities(older)).toEqual([
      "pulses",
      "staggered edges",
      "bursts",
      "a watched stack",
    ]);
    expect(missingAbilities([])).toHaveLength(12);
  });
});
