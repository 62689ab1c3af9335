/** One measured figure, printed as a JSON line. `limit` says in words or numbers what is asked. */
export interface Figure {
  readonly name: string;
  readonly value: number | string;
  readonly unit: string;
  readonly limit: string;
  readonly holds: boolean;
}

export interface FigureContext {
  /** Run the whole count rather than the quick one. */
  readonly full: boolean;
  report(figure: Figure): void;
  /** Progress and details for a person, on standard error. */
  say(text: string): void;
}

export type FigureModule = (context: FigureContext) => Promise<void>;
