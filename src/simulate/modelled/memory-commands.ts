/** MEMory of a modelled controller: its stored block. */
import { type Answer, after, bare, type CommandTable, type Controller } from "./command.ts";
import { STORE_BYTES, STORE_CRC_AT } from "./kept-memory.ts";
import { LINES, RAILS } from "./power-side.ts";
import { Refusal } from "./refusal.ts";

const PIECE = 16;
const BYTE_WRITE_US = 3400;

function assertAllOff({ power }: Controller): void {
  if ((power.outputs & (RAILS | LINES)) !== 0) throw new Refusal(111);
}

function written(controller: Controller, offset: number, bytes: readonly number[]): Answer {
  assertAllOff(controller);
  return after(controller, bytes.length * BYTE_WRITE_US, () => {
    controller.memory.store.set(bytes, offset);
    return "";
  });
}

export const MEMORY_COMMANDS: CommandTable = [
  [
    "MEMory:DATA",
    (controller, take) => {
      const offset = take.integer(0, STORE_CRC_AT - 1);
      const bytes: number[] = [];
      do {
        take.comma();
        const byte = take.integer(0, 255);
        if (bytes.length === PIECE) throw new Refusal(-223);
        bytes.push(byte);
      } while (!take.atEnd);
      if (offset + bytes.length > STORE_CRC_AT) throw new Refusal(-222);
      return written(controller, offset, bytes);
    },
  ],
  [
    "MEMory:DATA?",
    ({ memory }, take) => {
      const offset = take.integer(0, STORE_BYTES - 1);
      take.comma();
      const count = take.integer(1, PIECE);
      take.end();
      if (offset + count > STORE_BYTES) throw new Refusal(-222);
      return memory.store.subarray(offset, offset + count).join(",");
    },
  ],
  [
    "MEMory:KEEP",
    (controller, take) => {
      const crc = take.integer(0, 65_535);
      take.end();
      assertAllOff(controller);
      if (crc !== controller.memory.crc()) throw new Refusal(115);
      return written(controller, STORE_CRC_AT, [crc >> 8, crc & 0xff]);
    },
  ],
  ["MEMory:ERASe", bare((controller) => written(controller, 0, [0xff]))],
  ["MEMory:STATe?", bare(({ memory }) => memory.state)],
];
