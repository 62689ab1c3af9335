import { describe, expect, it } from "vitest";
import { nearestName, orMeant } from "../../src/formats/nearest-name.ts";

describe("nearestName(name, known)", () => {
  it("finds a slip of the pen, in any case of letters", () => {
    expect(nearestName("Settlems", ["set", "settleMs", "expect"])).toBe("settleMs");
    expect(nearestName("flasher-lach", ["fog-divider", "flasher-latch"])).toBe("flasher-latch");
    expect(nearestName("wrod", ["word", "runs"])).toBe("word");
    expect(nearestName("QM", ["QN", "SET"])).toBe("QN");
  });

  it("asks nothing where nothing is near, and of one letter never", () => {
    expect(nearestName("loudness", ["set", "settleMs", "expect"])).toBeNull();
    expect(nearestName("X", ["Q"])).toBeNull();
    expect(nearestName("RESET", ["SET"])).toBeNull();
  });

  it("never proposes the very name that was refused", () => {
    expect(nearestName("QN", ["QN"])).toBeNull();
  });
});

describe("orMeant(name, known, whatToDo)", () => {
  it("asks first and then says what always helps; other capitals are no question", () => {
    expect(orMeant("expct", ["expect"], "remove it")).toBe("did you mean `expect`? Else remove it");
    expect(orMeant("Title", ["title"], "remove it")).toBe("write it `title`");
    expect(orMeant("xyz", ["title"], "remove it")).toBe("remove it");
  });
});
