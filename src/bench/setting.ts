/**
 * Settings: commands that change something. One whose reply is lost is never repeated blindly; the
 * controller is asked what is the case, and only a change that did not happen is asked for again.
 */
import { BenchError, isBenchError } from "./bench-error.ts";
import { type ControllerLink, REPLY_DEADLINE_MS } from "./controller-link.ts";
import type { Urgency } from "./request-queue.ts";

export interface Setting {
  readonly body: string;
  /** Query and test by which to learn whether the change happened. */
  readonly confirm: { readonly query: string; readonly happened: (answer: string) => boolean };
  /** Asked right before each sending; an error when it must not be sent any more. */
  readonly withdrawn?: () => BenchError | null;
}

/** @throws BenchError as ControllerLink.ask does; reply-malformed */
export async function applySetting(link: ControllerLink, setting: Setting): Promise<void> {
  try {
    await sendOnce(link, setting);
  } catch (error) {
    if (!isBenchError(error) || error.code !== "reply-lost") throw error;
    if (setting.confirm.happened(await query(link, setting.confirm.query, "work"))) return;
    await sendOnce(link, setting);
  }
}

async function sendOnce(link: ControllerLink, setting: Setting): Promise<void> {
  const { body, withdrawn } = setting;
  const once = { body, urgency: "work", deadlineMs: REPLY_DEADLINE_MS, repeats: 0 } as const;
  expectOk(body, await link.ask(withdrawn === undefined ? once : { ...once, withdrawn }));
}

/** @throws BenchError reply-malformed when a setting is answered by anything but OK */
export function expectOk(command: string, received: string): void {
  if (received !== "OK") throw new BenchError("reply-malformed", { command, received });
}

export interface Query {
  readonly body: string;
  readonly urgency: Urgency;
  readonly deadlineMs?: number;
  /** Asked right before each sending; an error when it must not be sent any more. */
  readonly withdrawn?: () => BenchError | null;
}

/** An idempotent query: asked again once when no good reply came. */
export function query(link: ControllerLink, body: string, urgency: Urgency): Promise<string> {
  return askTwice(link, { body, urgency });
}

function askTwice(link: ControllerLink, asked: Query): Promise<string> {
  const { body, urgency, deadlineMs = REPLY_DEADLINE_MS, withdrawn } = asked;
  const twice = { body, urgency, deadlineMs, repeats: 1 } as const;
  return link.ask(withdrawn === undefined ? twice : { ...twice, withdrawn });
}

/**
 * An idempotent query whose answer must have a known shape.
 *
 * @param read gives null for an answer of another shape
 * @throws BenchError reply-malformed
 */
export async function queryAs<Answer>(
  link: ControllerLink,
  asked: Query,
  read: (answer: string) => Answer | null,
): Promise<Answer> {
  const received = await askTwice(link, asked);
  const answer = read(received);
  if (answer === null) {
    throw new BenchError("reply-malformed", { command: asked.body, received });
  }
  return answer;
}

/** firmware-protocol/errors.csv: no command has this header. */
const UNDEFINED_HEADER = -113;

/** Whether the controller refused a command because its firmware is older than it. */
export function isUnknownHeader(error: unknown): boolean {
  return isBenchError(error) && error.code === "refused" && error.facts.number === UNDEFINED_HEADER;
}
