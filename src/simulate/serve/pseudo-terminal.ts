/**
 * A pseudo-terminal whose far end looks like a serial port, and a look at who has it open. Linux
 * only: the C library is called through koffi, so that nothing has to be compiled.
 */
import { closeSync, writeSync } from "node:fs";
import { ReadStream } from "node:tty";
import koffi from "koffi";

/** Size that holds any termios or inotify answer with room to spare, bytes. */
const SCRATCH_BYTES = 4096;
const NAME_BYTES = 128;

const TCSANOW = 0;
const TCIOFLUSH = 2;
const F_SETFL = 4;
const O_NONBLOCK = 0o4000;
const IN_CLOEXEC = 0o2000000;
const IN_CLOSE_WRITE = 0x08;
const IN_CLOSE_NOWRITE = 0x10;
const IN_OPEN = 0x20;
/** Fixed part of an inotify event: watch, mask, cookie, name length, 4 bytes each. */
const INOTIFY_HEAD_BYTES = 16;

type ClientEvent = "opened" | "closed";

export interface PseudoTerminal {
  /** What a client opens, such as `/dev/pts/7`. */
  readonly path: string;
  /**
   * Give bytes to the client.
   *
   * @returns bytes taken; fewer than given when the client does not read
   */
  write(bytes: Uint8Array): number;
  onBytes(listener: (bytes: Uint8Array) => void): void;
  /** Throw away what neither side has read yet. */
  flush(): void;
  /** Clients that opened or closed the terminal since the last look, in order. */
  pollClients(): ClientEvent[];
  /** Hang up: a client that has it open sees the device vanish. */
  close(): void;
}

interface LibC {
  openpty(master: Int32Array, slave: Int32Array, name: Uint8Array, modes: null, size: null): number;
  tcgetattr(fd: number, termios: Uint8Array): number;
  cfmakeraw(termios: Uint8Array): void;
  tcsetattr(fd: number, when: number, termios: Uint8Array): number;
  tcflush(fd: number, queue: number): number;
  fcntl(fd: number, command: number, ...rest: (string | number)[]): number;
  inotifyInit(flags: number): number;
  inotifyAddWatch(fd: number, path: string, mask: number): number;
  read(fd: number, buffer: Uint8Array, size: number): number;
}

let loaded: LibC | null = null;

function libC(): LibC {
  if (loaded === null) {
    if (process.platform !== "linux") {
      throw new Error(
        `expected Linux to serve the bench on a pseudo-terminal, got ${process.platform}; ` +
          "prove on the emulated bench in-process instead (no --port)",
      );
    }
    const library = koffi.load("libc.so.6");
    loaded = {
      openpty: library.func("int openpty(int *m, int *s, uint8_t *name, void *modes, void *size)"),
      tcgetattr: library.func("int tcgetattr(int fd, uint8_t *termios)"),
      cfmakeraw: library.func("void cfmakeraw(uint8_t *termios)"),
      tcsetattr: library.func("int tcsetattr(int fd, int when, uint8_t *termios)"),
      tcflush: library.func("int tcflush(int fd, int queue)"),
      fcntl: library.func("int fcntl(int fd, int command, ...)"),
      inotifyInit: library.func("int inotify_init1(int flags)"),
      inotifyAddWatch: library.func(
        "int inotify_add_watch(int fd, const char *path, uint32_t mask)",
      ),
      read: library.func("long read(int fd, uint8_t *buffer, size_t size)"),
    };
  }
  return loaded;
}

function check(result: number, call: string): number {
  if (result < 0) {
    throw new Error(
      `pseudo-terminal: ${call} failed with errno ${koffi.errno()}; is /dev/pts mounted and writable?`,
    );
  }
  return result;
}

/** @throws Error when the system gives no pseudo-terminal, or is not Linux */
export function openPseudoTerminal(): PseudoTerminal {
  const c = libC();
  const master = new Int32Array(1);
  const slave = new Int32Array(1);
  const name = new Uint8Array(NAME_BYTES);
  check(c.openpty(master, slave, name, null, null), "openpty");
  const masterFd = master[0] ?? -1;
  // Held open for good: without any opener the master would read end of file instead of waiting.
  const slaveFd = slave[0] ?? -1;
  const path = Buffer.from(name).toString("latin1").split("\0")[0] ?? "";

  const termios = new Uint8Array(SCRATCH_BYTES);
  check(c.tcgetattr(slaveFd, termios), "tcgetattr");
  c.cfmakeraw(termios);
  check(c.tcsetattr(slaveFd, TCSANOW, termios), "tcsetattr");
  // A client that does not read must not stop the controller's time.
  check(c.fcntl(masterFd, F_SETFL, "int", O_NONBLOCK), "fcntl");

  const watchFd = check(c.inotifyInit(O_NONBLOCK | IN_CLOEXEC), "inotify_init1");
  const mask = IN_OPEN | IN_CLOSE_WRITE | IN_CLOSE_NOWRITE;
  check(c.inotifyAddWatch(watchFd, path, mask), "inotify_add_watch");
  const events = Buffer.alloc(SCRATCH_BYTES);

  const reader = new ReadStream(masterFd);
  let closed = false;
  return {
    path,
    write(bytes) {
      try {
        return closed ? 0 : writeSync(masterFd, bytes);
      } catch (cause) {
        if ((cause as NodeJS.ErrnoException).code === "EAGAIN") {
          return 0;
        }
        throw cause;
      }
    },
    onBytes(listener) {
      reader.on("data", (bytes: Buffer) => listener(bytes));
    },
    flush: () => void c.tcflush(slaveFd, TCIOFLUSH),
    pollClients() {
      const size = closed ? 0 : Number(c.read(watchFd, events, SCRATCH_BYTES));
      return readEvents(events.subarray(0, Math.max(0, size)));
    },
    close() {
      if (!closed) {
        closed = true;
        reader.destroy();
        closeSync(slaveFd);
        closeSync(watchFd);
      }
    },
  };
}

function readEvents(events: Buffer): ClientEvent[] {
  const found: ClientEvent[] = [];
  let offset = 0;
  while (offset + INOTIFY_HEAD_BYTES <= events.length) {
    const mask = events.readUInt32LE(offset + 4);
    if ((mask & IN_OPEN) !== 0) {
      found.push("opened");
    } else if ((mask & (IN_CLOSE_WRITE | IN_CLOSE_NOWRITE)) !== 0) {
      found.push("closed");
    }
    offset += INOTIFY_HEAD_BYTES + events.readUInt32LE(offset + 12);
  }
  return found;
}
