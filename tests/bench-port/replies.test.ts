import { describe, expect, it } from "vitest";
import {
  readBoot,
  readCapability,
  readCodes,
  readIdentity,
  readPush,
  readRailScan,
  readRailTrail,
  readStates,
  readTripState,
} from "../../src/bench/replies.ts";

describe("replies", () => {
  it("reads each answer of the protocol's own examples", () => {
    expect(readCapability("1,8,22,64,5")).toEqual({
      protocol: 1,
      outputs: 8,
      channels: 22,
      samplesMax: 64,
      channelsPerRead: 5,
    });
    expect(readBoot("BOR,12,345")).toEqual({ cause: "BOR", bootCount: 12, sinceResetMs: 345 });
    expect(readRailScan("65535,0,1,2,3,4,1023")).toEqual({
      scan: 65_535,
      codes: [0, 1, 2, 3, 4, 1023],
    });
    expect(readRailTrail("3,7,8,1023")).toEqual({ scan: 3, codes: [7, 8, 1023] });
    expect(readRailTrail("0")).toEqual({ scan: 0, codes: [] });
    expect(readTripState("0")).toBe("none");
    expect(readTripState("4,512,99")).toEqual({ kind: "trip", channel: 4, code: 512, atMs: 99 });
    expect(readStates("1,0", 2)).toEqual([true, false]);
    expect(readPush("OFF 12")).toEqual({ kind: "off", atMs: 12 });
  });

  it.each(["", "HOLDFAST", "HOLDFAST,CONTROLLER,0", "HOLDFAST,CONTROLLER,0,1,2"])(
    "reads no identity from %j",
    (text) => {
      expect(readIdentity(text)).toBeNull();
    },
  );

  it.each(["", "POR", "POR,1", "por,1,2", "POR,-1,2", "POR,1,2,3"])(
    "reads no boot from %j",
    (text) => {
      expect(readBoot(text)).toBeNull();
    },
  );

  it.each(["", "1,8,22,64", "1,8,22,0,5", "1,8,22,64,0", "a,8,22,64,5"])(
    "reads no capability from %j",
    (text) => {
      expect(readCapability(text)).toBeNull();
    },
  );

  it.each([
    "",
    "1,2,3",
    "65536,0,0,0,0,0,0",
    "1,0,0,0,0,0,1024",
    "1,0,0,0,0,0,-1",
    "1,0,0,0,0,0,0,0",
  ])("reads no scan from %j", (text) => {
    expect(readRailScan(text)).toBeNull();
  });

  it.each(["", "65536,1", "1,1024", "1,-2", "1,", `1${",5".repeat(17)}`])(
    "reads no trail from %j",
    (text) => {
      expect(readRailTrail(text)).toBeNull();
    },
  );

  it.each(["", "BOOT 1,0.1.0,POR", "TRIP 1,2", "TRIP 1,2,3,4", "DEAD", "DEAD 1,2", "HELLO 1"])(
    "reads no pushed line from %j",
    (text) => {
      expect(readPush(text)).toBeNull();
    },
  );

  it.each([
    ["too few channels", "10:5:5"],
    ["too many channels", "10:5:5,10:5:5,10:5:5"],
    ["a sum below count times min", "9:5:5,10:5:5"],
    ["a sum above count times max", "11:5:5,10:5:5"],
    ["min above max", "10:6:5,10:5:5"],
    ["a code beyond 10 bits", "2048:1024:1024,10:5:5"],
    ["a sign", "-10:5:5,10:5:5"],
    ["an empty field", ",10:5:5"],
  ])("reads no codes from %s", (_what, text) => {
    expect(readCodes(text, { channels: ["Q", "QN"], count: 2 })).toBeNull();
  });
});
