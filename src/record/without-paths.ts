/** Texts of a run made fit for a record that leaves the house. */

/** Absolute paths, home folders, Windows drives and serial ports: `/dev/ttyACM0`, `C:\x`, `COM3`. */
const PATHS =
  /(?:~|\b[A-Za-z]:)?(?:[/\\][^\s/\\,;:"'()<>]+){2,}[/\\]?|\b[A-Za-z]:\\[^\s,;"']*|\bCOM\d+\b/g;

/** The text with every path in it replaced: a record names no place on the host. */
export function withoutPaths(text: string): string {
  return text.replace(PATHS, "(a path)");
}
