/** The serial seam: a byte stream to one controller, one object per connection. */
import type { Duplex } from "node:stream";

export interface ControllerPort {
  /** What to call the port in messages, such as `/dev/ttyACM0` or `emulated bench`. */
  readonly name: string;
  readonly stream: Duplex;
  close(): Promise<void>;
}
