import { describe, expect, it } from "vitest";
import { readConduct } from "../../../src/commands/prove/conduct-options.ts";
import { UsageError } from "../../../src/commands/usage-error.ts";

describe("readConduct(raw, mode)", () => {
  it("powers down at the end and at a miss when nothing is said", () => {
    expect(readConduct({}, "proof")).toMatchObject({
      mode: "proof",
      freezeMs: null,
      standbyMs: null,
    });
  });

  it("gives every time a usual length where none is named", () => {
    expect(readConduct({ freeze: true, standby: true }, "proof")).toMatchObject({
      freezeMs: 300_000,
      standbyMs: 600_000,
    });
    expect(readConduct({}, "hand")).toMatchObject({ mode: "hand", handMs: 900_000 });
  });

  it("takes a freeze in seconds, standby and hand mode in minutes", () => {
    expect(readConduct({ freeze: "20", standby: "3" }, "proof")).toMatchObject({
      freezeMs: 20_000,
      standbyMs: 180_000,
    });
    expect(readConduct({ minutes: "120" }, "hand").handMs).toBe(7_200_000);
  });

  it.each([
    { freeze: "0" },
    { freeze: "1801" },
    { freeze: "2.5" },
    { freeze: "-3" },
    { standby: "61" },
    { standby: "" },
    { minutes: "121" },
    { minutes: "1e1" },
  ])("lets nothing go on for ever or for no time: %j", (raw) => {
    expect(() => readConduct(raw, "proof")).toThrow(UsageError);
  });

  it("says where a folder goes that was taken for the length", () => {
    expect(() => readConduct({ freeze: "sequences/fog-divider" }, "proof")).toThrow(
      "Name a folder before --freeze.",
    );
    expect(() => readConduct({ standby: "61" }, "proof")).not.toThrow("folder");
  });
});
