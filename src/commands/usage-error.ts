/** Something the person asked for that cannot be done as asked; said in one sentence, exit 2. */
export class UsageError extends Error {
  constructor(message: string) {
    super(message);
    this.name = "UsageError";
  }
}
