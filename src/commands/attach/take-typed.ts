/** Lines typed beside an attached run where there is no screen: wishes, a stop, or leaving. */
import type { Clock } from "../../clock/clock.ts";
import type { ControlLink } from "../control/control-link.ts";
import type { RunFeed } from "../prove/run-feed.ts";
import { followTypedWishes } from "../prove/typed-wishes.ts";

export interface TakeTypedGiven {
  readonly link: ControlLink;
  readonly feed: RunFeed;
  readonly clock: Clock;
  readonly say: (text: string) => void;
  readonly leave: () => void;
}

/** Take up typed lines until the returned function is called. */
export function takeTyped({ link, feed, clock, say, leave }: TakeTypedGiven): () => void {
  return followTypedWishes({
    stdin: process.stdin,
    clock,
    isOpen: () => {
      const { hand, freeze, standby } = feed.snapshot();
      return hand !== null || freeze !== null || standby !== null;
    },
    ask: (wish) => link.ask(wish),
    stop: () => {
      void link.stop("typed stop").then((answer) => {
        if (answer !== null) say(answer);
      });
    },
    leave,
    say,
  });
}
