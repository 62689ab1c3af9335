/**
 * USART0 against its data sheet: DS40002061B chapter 20; section numbers in the names. Baud figures
 * from the maker's tables, kept with their source in tests/references/electronics.
 */
import { describe, expect, it } from "vitest";
import { Usart } from "../../../src/simulate/avr/usart.ts";
import reference from "../../references/electronics/atmega328p-timing.json" with { type: "json" };
import { bareChip, idleCpu, pass, VECTOR } from "./bare-chip.ts";

const UCSRA = 0xc0;
const UCSRB = 0xc1;
const UCSRC = 0xc2;
const UBRRL = 0xc4;
const UBRRH = 0xc5;
const UDR = 0xc6;
const RXC = 0x80;
const TXC = 0x40;
const UDRE = 0x20;
const FE = 0x10;
const DOR = 0x08;
const RXEN = 0x10;
const TXEN = 0x08;

/** One frame of 8N1 at 500000 baud from 16 MHz, cycles. */
const FRAME = 320;

function usartAt(ubrr: number, options: { u2x?: boolean; lineBaud?: number } = {}) {
  const cpu = idleCpu();
  const usart = new Usart(cpu, { hz: 16_000_000, lineBaud: options.lineBaud ?? 500_000 });
  const sent: { byte: number; cycles: number }[] = [];
  usart.onTransmit = (byte) => sent.push({ byte, cycles: cpu.cycles });
  cpu.writeData(UCSRA, options.u2x === true ? 0x02 : 0);
  cpu.writeData(UBRRH, ubrr >> 8);
  cpu.writeData(UBRRL, ubrr & 0xff);
  cpu.writeData(UCSRB, RXEN | TXEN);
  const status = (): number => cpu.readData(UCSRA);
  /** One whole frame arrives. */
  const arrive = (byte: number): void => {
    usart.startBit();
    pass(cpu, FRAME);
    usart.receive(byte);
  };
  return { cpu, usart, sent, status, arrive };
}

describe("USART transmitter", () => {
  it.each(
    reference.uart.table_at_16_mhz.flatMap((row) =>
      [row.u2x0, row.u2x1].flatMap((setting, u2x) =>
        setting === null ? [] : [{ ...setting, u2x: u2x === 1, nominal: row.nominal_bps }],
      ),
    ),
  )("sends at $actual_bps bit/s for UBRR $ubrr, U2X $u2x (20.3.1)", ({ ubrr, u2x, actual_bps }) => {
    const { cpu, usart, sent } = usartAt(ubrr, { u2x });
    expect(usart.baud).toBeCloseTo(actual_bps, 2);
    cpu.writeData(UDR, 0x55);
    pass(cpu, 200_000);
    expect(sent[0]?.cycles).toBeCloseTo((10 * 16_000_000) / actual_bps, 2);
  });

  it("buffers one byte behind the one being shifted, without a gap between them (20.6)", () => {
    const { cpu, sent, status } = usartAt(1);
    cpu.writeData(UDR, 1);
    expect(status() & UDRE).toBe(UDRE);
    cpu.writeData(UDR, 2);
    expect(status() & UDRE).toBe(0);
    pass(cpu, FRAME);
    expect(status() & UDRE).toBe(UDRE);
    pass(cpu, FRAME);
    expect(sent).toEqual([
      { byte: 1, cycles: FRAME },
      { byte: 2, cycles: 2 * FRAME },
    ]);
  });

  it("ignores a byte written while UDRE is zero (20.11.1)", () => {
    const { cpu, sent } = usartAt(1);
    for (const byte of [1, 2, 3]) {
      cpu.writeData(UDR, byte);
    }
    pass(cpu, 5 * FRAME);
    expect(sent.map(({ byte }) => byte)).toEqual([1, 2]);
  });

  it("sets TXC after the last frame only, and clears it by writing one (20.11.2)", () => {
    const { cpu, status } = usartAt(1);
    cpu.writeData(UDR, 1);
    cpu.writeData(UDR, 2);
    pass(cpu, FRAME);
    expect(status() & TXC).toBe(0);
    pass(cpu, FRAME);
    expect(status() & TXC).toBe(TXC);
    cpu.writeData(UCSRA, TXC);
    expect(status() & TXC).toBe(0);
  });

  it("finishes what it holds when it is disabled, and takes no more (20.6.5)", () => {
    const { cpu, sent } = usartAt(1);
    cpu.writeData(UDR, 1);
    cpu.writeData(UDR, 2);
    cpu.writeData(UCSRB, 0);
    cpu.writeData(UDR, 3);
    pass(cpu, 5 * FRAME);
    expect(sent.map(({ byte }) => byte)).toEqual([1, 2]);
  });

  it("counts parity, data and stop bits into a frame (20.4)", () => {
    const { cpu, sent } = usartAt(1);
    cpu.writeData(UCSRC, 0x30 | 0x08 | 0x04); // odd parity, two stop bits, 7 data bits
    cpu.writeData(UDR, 1);
    pass(cpu, 1000);
    expect(sent[0]?.cycles).toBe((1 + 7 + 1 + 2) * 32);
  });

  it("goes on sending after the program has emptied its buffer and disabled the interrupt", () => {
    // The usual way to send: the interrupt disables itself when there is nothing left (20.6.3).
    const { chip, sent, runTo } = bareChip(`
      rjmp start
      _loc ${VECTOR.empty}
      rjmp empty
      start: ldi r16, 1
      sts ${UBRRL}, r16
      ldi r16, 0x28       ; UDRIE, TXEN
      sts ${UCSRB}, r16
      ldi r17, 3          ; bytes to send
      ldi r20, 0x41
      sei
      again: cpi r17, 0
      brne again
      ldi r18, 200        ; the line falls silent for longer than two frames
      outer: ldi r19, 10
      inner: dec r19
      brne inner
      dec r18
      brne outer
      ldi r17, 2
      cli
      ldi r16, 0x28
      sts ${UCSRB}, r16
      sei
      end: rjmp end
      empty: cpi r17, 0
      breq done
      sts ${UDR}, r20
      inc r20
      dec r17
      reti
      done: ldi r16, 0x08
      sts ${UCSRB}, r16
      reti
    `);
    runTo(2);
    expect(Buffer.from(sent.map(({ byte }) => byte)).toString()).toBe("ABCDE");
    expect(chip.peek(UCSRB)).toBe(0x08);
  });
});

describe("USART receiver", () => {
  it("keeps three of ten unread bytes and reports the overrun (20.7.4, 20.11.2)", () => {
    const { cpu, status, arrive } = usartAt(1);
    for (let byte = 1; byte <= 10; byte += 1) {
      arrive(byte);
    }
    expect(status() & (RXC | DOR)).toBe(RXC | DOR);
    const read: number[] = [];
    while ((status() & RXC) !== 0) {
      read.push(cpu.readData(UDR));
    }
    // Two in the buffer, and the last in the shift register: each new start bit overwrote it.
    expect(read).toEqual([1, 2, 10]);
    expect(status() & DOR).toBe(0);
  });

  it("loses nothing while at most three bytes wait", () => {
    const { cpu, status, arrive } = usartAt(1);
    for (const byte of [1, 2, 3]) {
      arrive(byte);
    }
    expect(status() & DOR).toBe(0);
    expect([cpu.readData(UDR), cpu.readData(UDR), cpu.readData(UDR)]).toEqual([1, 2, 3]);
    expect(status() & RXC).toBe(0);
  });

  it("forgets unread bytes when it is disabled (20.7.6)", () => {
    const { cpu, status, arrive } = usartAt(1);
    arrive(1);
    cpu.writeData(UCSRB, TXEN);
    cpu.writeData(UCSRB, TXEN | RXEN);
    expect(status() & RXC).toBe(0);
    arrive(2);
    expect(cpu.readData(UDR)).toBe(2);
  });

  it.each([
    { lineBaud: 500_000 * 1.044, ok: true },
    { lineBaud: 500_000 * 1.049, ok: false },
    { lineBaud: 500_000 * 0.958, ok: true },
    { lineBaud: 500_000 * 0.953, ok: false },
  ])("reads $lineBaud bit/s at a setting of 500000: $ok (20.8.3)", ({ lineBaud, ok }) => {
    const [low, high] = reference.uart.max_total_error_percent_8_data_bits_no_parity.u2x0;
    expect([low, high]).toEqual([-4.54, 4.58]);
    const { cpu, status, arrive } = usartAt(1, { lineBaud });
    arrive(0x41);
    expect((status() & FE) === 0).toBe(ok);
    expect(cpu.readData(UDR) === 0x41).toBe(ok);
  });

  it("interrupts again and again until the byte is read, for the flag is a level (20.7.3)", () => {
    const { chip, runTo } = bareChip(`
      rjmp start
      _loc ${VECTOR.receive}
      rjmp received
      start: ldi r16, 1
      sts ${UBRRL}, r16
      ldi r16, 0x90       ; RXCIE, RXEN
      sts ${UCSRB}, r16
      sei
      end: rjmp end
      received: inc r20
      cpi r20, 5
      brne leave
      lds r21, ${UDR}     ; read at the fifth time only
      leave: reti
    `);
    runTo(1);
    chip.wire.send([0x77], chip.cycles);
    runTo(2);
    expect([chip.peek(20), chip.peek(21)]).toEqual([5, 0x77]);
  });

  it("hears of what is sent during reset only what comes after it, at its own time", () => {
    const { chip, runTo } = bareChip(
      `
      ldi r16, 1
      sts ${UBRRL}, r16
      ldi r16, 0x10
      sts ${UCSRB}, r16
      wait: lds r17, ${UCSRA}
      sbrs r17, 7
      rjmp wait
      lds r20, ${UDR}
      inc r21
      rjmp wait
    `,
      { startUpMs: 65 },
    );
    // 65 ms are 3250 byte times: of these 3256 bytes the last six pass while the program runs.
    const bytes = Array.from({ length: 3256 }, (_, index) => (index < 3250 ? 0x11 : index - 3250));
    chip.wire.send(bytes, chip.cycles);
    runTo(65 + 3 * 0.02 + 0.005);
    expect([chip.peek(20), chip.peek(21)]).toEqual([2, 3]);
    runTo(66);
    expect([chip.peek(20), chip.peek(21)]).toEqual([5, 6]);
  });
});
