/** What an error of the operating system says, without trusting that it is one. */

/** Whether the error came from this system call. */
export function isFrom(error: unknown, syscall: string): boolean {
  return error instanceof Error && "syscall" in error && error.syscall === syscall;
}

/** Whether disk or quota are full. */
export function isFull(error: unknown): boolean {
  const code = codeOf(error);
  return code === "ENOSPC" || code === "EDQUOT";
}

/** The system's code, such as `EIO`; null for an error of another kind. */
export function codeOf(error: unknown): string | null {
  return error instanceof Error && "code" in error && typeof error.code === "string"
    ? error.code
    : null;
}

export function messageOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}
