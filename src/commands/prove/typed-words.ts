/** The words a person may type where there is no screen, for help and for the answer to others. */
export const TYPED_WORDS =
  "LINE high, LINE low, pulse LINE, repeat, loop STEP, loop off, wait MS, next run, let go, stop";
