/** The socket of a run from outside: open, or why there is nobody behind it. */
import { rmSync } from "node:fs";
import { connect, type Socket } from "node:net";
import { codeOf } from "../../journal/system-error.ts";

export type OpenedSocket =
  | { readonly kind: "open"; readonly socket: Socket }
  /** No socket lies there. */
  | { readonly kind: "none" }
  /** Its program ended without taking it away; that is done now. */
  | { readonly kind: "stale" }
  | { readonly kind: "failed"; readonly why: string };

export async function openSocket(path: string): Promise<OpenedSocket> {
  const socket = connect(path);
  return new Promise((resolve) => {
    socket.once("connect", () => {
      socket.removeAllListeners("error");
      resolve({ kind: "open", socket });
    });
    socket.once("error", (error) => {
      socket.destroy();
      resolve(withoutProgram(path, error));
    });
  });
}

function withoutProgram(path: string, error: Error): OpenedSocket {
  switch (codeOf(error)) {
    case "ENOENT":
    case "ENOTDIR":
      return { kind: "none" };
    case "ECONNREFUSED":
      // The system refuses only where nobody listens; a program that is busy makes callers wait.
      rmSync(path, { force: true });
      return { kind: "stale" };
    default:
      return { kind: "failed", why: error.message };
  }
}
