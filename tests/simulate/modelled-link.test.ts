import { describe, expect, it } from "vitest";
import { ModelledLink } from "../../src/simulate/modelled-link.ts";

const FIRST = "<01|OK|1234\n";
const SECOND = "<02|1,2,3|ABCD\n";

function linkWithReader(): { readonly link: ModelledLink; readonly read: () => string } {
  const link = new ModelledLink({
    received: () => undefined,
    opened: () => undefined,
    reset: () => undefined,
  });
  const { stream } = link.open();
  // A cable that is pulled is an error to whoever reads.
  stream.on("error", () => undefined);
  return { link, read: () => String(stream.read() ?? "") };
}

describe("the link of a modelled bench", () => {
  it("carries lines as they are", () => {
    const { link, read } = linkWithReader();
    expect(link.deliver(Buffer.from(FIRST + SECOND))).toBe(true);
    expect(read()).toBe(FIRST + SECOND);
  });

  it("loses one line and no other", () => {
    const { link, read } = linkWithReader();
    link.loseLine();
    expect(link.deliver(Buffer.from(FIRST))).toBe(false);
    expect(link.deliver(Buffer.from(SECOND))).toBe(true);
    expect(read()).toBe(SECOND);
  });

  it("spoils one bit of one line and no other", () => {
    const { link, read } = linkWithReader();
    link.spoilLine();
    link.deliver(Buffer.from(FIRST));
    link.deliver(Buffer.from(SECOND));
    const got = read();
    expect(got.endsWith(SECOND)).toBe(true);
    const changed = [...got.slice(0, FIRST.length)].filter((one, at) => one !== FIRST[at]);
    expect(changed).toHaveLength(1);
  });

  it("takes one connection at a time, and none while the cable is out", () => {
    const { link } = linkWithReader();
    expect(() => link.open()).toThrow(/closed before it is opened again/);
    link.unplug();
    expect(() => link.open()).toThrow(/Put it back/);
    link.plugIn();
    link.open();
    expect(link.isOpen).toBe(true);
  });
});
