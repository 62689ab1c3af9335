/** The facts that belong to each code of a BenchError; messages are made from them. */

export interface BenchErrorFacts {
  "port-missing": { readonly port: string; readonly present: readonly string[] };
  "port-ambiguous": { readonly port: string; readonly paths: readonly string[] };
  "port-busy": { readonly port: string; readonly holders: readonly string[] };
  "port-not-permitted": { readonly port: string; readonly group: string | null };
  "port-not-serial": { readonly port: string; readonly is: string };
  "port-vanished": { readonly port: string };
  "port-open-timeout": { readonly port: string; readonly limitMs: number };
  "port-open-failed": { readonly port: string };
  "port-close-failed": { readonly port: string; readonly limitMs: number };
  "no-answer": { readonly port: string; readonly waitedMs: number };
  "not-a-controller": { readonly port: string; readonly said: string };
  "protocol-unsupported": {
    readonly port: string;
    readonly expected: string;
    readonly received: string;
  };
  "wiring-disagrees": { readonly port: string; readonly differences: readonly string[] };
  refused: {
    readonly command: string;
    readonly number: number;
    readonly text: string;
    /** 1 for the first sending. A repeated one may have been carried out before. */
    readonly attempt: number;
  };
  "reply-lost": { readonly command: string; readonly attempts: number; readonly waitedMs: number };
  "reply-malformed": { readonly command: string; readonly received: string };
  /** A newer request to switch off came before this one was sent. */
  overtaken: { readonly command: string };
  "queue-full": { readonly command: string; readonly waiting: number };
  "unknown-name": { readonly kind: "rail" | "line" | "channel"; readonly name: string };
  /** A pulse shorter than what drives the line takes to follow. */
  "driver-too-slow": { readonly line: string; readonly us: number; readonly driverUs: number };
  /** Edges do not get through the filter at the pin. */
  "channel-not-fast": {
    readonly channel: string;
    readonly filterUs: number;
    readonly limitUs: number;
  };
  /** The controller's firmware is older than what is asked of it. */
  "firmware-too-old": { readonly firmware: string; readonly needs: string };
  "controller-restarted": { readonly cause: string };
  "link-lost": { readonly port: string; readonly reason: string };
  closed: { readonly port: string };
}

export type BenchErrorCode = keyof BenchErrorFacts;
