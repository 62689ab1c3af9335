/** Settings: where they lie, what wins, and what a broken file does. */
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { loadSettings } from "../../../src/commands/settings/load-settings.ts";
import { settingsPath } from "../../../src/commands/settings/settings-place.ts";
import { spoken, withSettings } from "../../../src/commands/settings/with-settings.ts";

describe("settingsPath(surroundings)", () => {
  // XDG Base Directory Specification 0.8: XDG_CONFIG_HOME, else $HOME/.config; relative paths are invalid.
  it("follows XDG_CONFIG_HOME where it is absolute, and passes over it where it is not", () => {
    const at = (XDG_CONFIG_HOME?: string) =>
      settingsPath({
        environment: XDG_CONFIG_HOME === undefined ? {} : { XDG_CONFIG_HOME },
        platform: "linux",
        home: "/home/ab",
      });
    expect(at("/etc/cfg")).toBe("/etc/cfg/holdfast/settings.yaml");
    expect(at("cfg")).toBe("/home/ab/.config/holdfast/settings.yaml");
    expect(at()).toBe("/home/ab/.config/holdfast/settings.yaml");
  });

  it("has a place on other systems too", () => {
    const mac = settingsPath({ environment: {}, platform: "darwin", home: "/Users/ab" });
    expect(mac).toBe("/Users/ab/Library/Application Support/holdfast/settings.yaml");
    const windows = settingsPath({
      environment: { APPDATA: "C:\\Users\\ab\\AppData\\Roaming" },
      platform: "win32",
      home: "C:\\Users\\ab",
    });
    expect(windows).toBe("C:\\Users\\ab\\AppData\\Roaming\\holdfast\\settings.yaml");
  });
});

describe("withSettings(raw, settings)", () => {
  it("lets the command line win over the file, and the file over what is usual", () => {
    const settings = { runs: "/data/runs", ascii: true, mute: true, colour: false };
    expect(withSettings({ runs: "here", ascii: false }, settings)).toMatchObject({
      runs: "here",
      ascii: false,
      mute: true,
      color: false,
    });
    expect(withSettings({}, settings).runs).toBe("/data/runs");
    expect(withSettings({}, {})).toEqual({ runs: "runs", color: true, word: "tube" });
  });

  it("never turns colour back on that the command line turned off", () => {
    expect(withSettings({ color: false }, { colour: true }).color).toBe(false);
  });
});

describe("spoken(text, word)", () => {
  it("says valve where that is the word, and leaves other words alone", () => {
    expect(spoken("Tubes: swap the tube; tubed", "valve")).toBe("Valves: swap the valve; tubed");
    expect(spoken("swap the tube", "tube")).toBe("swap the tube");
  });
});

describe("loadSettings()", () => {
  const before = process.env["XDG_CONFIG_HOME"];
  let folder = "";

  beforeEach(() => {
    folder = mkdtempSync(join(tmpdir(), "holdfast-settings-"));
    process.env["XDG_CONFIG_HOME"] = folder;
  });

  afterEach(() => {
    if (before === undefined) delete process.env["XDG_CONFIG_HOME"];
    else process.env["XDG_CONFIG_HOME"] = before;
    rmSync(folder, { recursive: true });
  });

  function write(text: string): void {
    mkdirSync(join(folder, "holdfast"));
    writeFileSync(join(folder, "holdfast/settings.yaml"), text);
  }

  it("takes no file for an empty one", async () => {
    expect(await loadSettings()).toMatchObject({ found: false, settings: {} });
  });

  it("reads what is there", async () => {
    write("format: holdfast-settings\nversion: 1\nword: valve\n");
    expect(await loadSettings()).toMatchObject({ found: true, settings: { word: "valve" } });
  });

  it("refuses a file it only half understands, at its line, with what was meant", async () => {
    write("format: holdfast-settings\nversion: 1\nwrod: valve\n");
    await expect(loadSettings()).rejects.toThrow(/settings\.yaml:3:1: wrod: .*did you mean `word`/);
  });
});
