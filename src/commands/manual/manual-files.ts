/** Every file that is made from the program's facts, with its place in the package. */
import { buildProgram } from "../program.ts";
import { guardStandardStreams } from "../standard-streams.ts";
import { programFacts } from "./command-tree.ts";
import { completionText } from "./completions.ts";
import { manualPage } from "./manual-page.ts";

export interface ManualFile {
  readonly path: string;
  readonly text: string;
}

export function manualFiles(): ManualFile[] {
  const facts = programFacts(
    buildProgram({ streams: guardStandardStreams(), leave: () => undefined }),
  );
  return [
    { path: "man/holdfast.1", text: manualPage(facts) },
    { path: "completions/holdfast.bash", text: completionText("bash", facts) },
    { path: "completions/_holdfast", text: completionText("zsh", facts) },
    { path: "completions/holdfast.fish", text: completionText("fish", facts) },
  ];
}
