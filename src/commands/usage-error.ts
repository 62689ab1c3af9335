/** Something the person asked for that cannot be done as asked; said in one sentence, exit 2. */
export class UsageError extends Error {
  constructor(message: string) {
    super(message);
    this.name = "UsageError";
  }
}

/** The same of a word that is no folder of a proof, and may have been meant as a command. */
export class NoSuchFolder extends UsageError {
  readonly folder: string;

  constructor(folder: string, message: string) {
    super(message);
    this.name = "NoSuchFolder";
    this.folder = folder;
  }
}
