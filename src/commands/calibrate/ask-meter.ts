/** The reference meter as the file names it: by options, else by asking. */
import type { CalibrationMeter } from "../../formats/calibration.schema.ts";
import { UsageError } from "../usage-error.ts";
import type { Talker } from "../write/talk.ts";
import { day, type MeterAsked, refuseLaterThan, within } from "./calibrate-options.ts";

/** Of the emulated bench: a hand-held meter of 4 1/2 digits, common practice. */
const SIMULATED = { name: "simulated meter", percent: 0.05, volts: 0.003 } as const;

export function simulatedMeter(asked: MeterAsked, today: string): CalibrationMeter {
  return {
    name: asked.name ?? SIMULATED.name,
    checked: asked.checked ?? today,
    percent: asked.percent ?? SIMULATED.percent,
    volts: asked.volts ?? SIMULATED.volts,
    from: "simulated",
  };
}

interface Question {
  readonly option: string;
  readonly about: string;
  readonly key: keyof MeterAsked;
  readonly read: (text: string) => string | number | null;
}

function questions(today: string): readonly Question[] {
  return [
    {
      option: "--meter",
      about: "Reference meter, its make, type and serial: ",
      key: "name",
      read: (text) => (text === "" || text.length > 60 ? null : text),
    },
    {
      option: "--meter-checked",
      about: "Day of its own last check, such as 2026-05-01: ",
      key: "checked",
      read: (text) => {
        const checked = day("it", text);
        refuseLaterThan(today, checked);
        return checked;
      },
    },
    {
      option: "--meter-percent",
      about: "What it may be off, percent of the reading, by its manual: ",
      key: "percent",
      read: (text) => within("percent", text, 10),
    },
    {
      option: "--meter-volts",
      about: "What it may be off besides (last digits), in volts: ",
      key: "volts",
      read: (text) => within("volts", text, 10),
    },
  ];
}

/**
 * @param talker null where nobody is there to be asked
 * @returns null when the person broke off
 * @throws UsageError naming the options that are missing
 */
export async function askMeter(
  asked: MeterAsked,
  talker: Talker | null,
  { today, from }: { readonly today: string; readonly from: CalibrationMeter["from"] },
): Promise<CalibrationMeter | null> {
  const missing = questions(today).filter(({ key }) => asked[key] === null);
  if (missing.length > 0 && talker === null) {
    const options = missing.map(({ option }) => option).join(", ");
    throw new UsageError(`Expected the meter by its options, ${options} missing.`);
  }
  const found: Record<keyof MeterAsked, string | number | null> = { ...asked };
  for (const question of missing) {
    const answer = talker === null ? null : await answerTo(question, talker);
    if (answer === null) return null;
    found[question.key] = answer;
  }
  return {
    name: String(found.name),
    checked: String(found.checked),
    percent: Number(found.percent),
    volts: Number(found.volts),
    from,
  };
}

async function answerTo(
  { about, read }: Question,
  talker: Talker,
): Promise<string | number | null> {
  for (;;) {
    const heard = await talker.hear(about);
    if (heard.kind === "over") return null;
    try {
      const value = read(heard.text.trim());
      if (value !== null) return value;
      talker.say("  Expected 1 to 60 characters.");
    } catch (error) {
      if (!(error instanceof UsageError) || !talker.isPerson) throw error;
      talker.say(`  ${error.message}`);
    }
  }
}
