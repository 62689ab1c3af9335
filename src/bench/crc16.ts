/**
 * CRC-16/IBM-3740: polynomial 0x1021, start value 0xFFFF, nothing reflected, nothing inverted.
 *
 * At line lengths of this protocol (96 bytes) every pattern of up to three wrong bits and every
 * burst of up to 16 bits is caught.
 */

const POLYNOMIAL = 0x1021;

const TABLE = Uint16Array.from({ length: 256 }, (_, byte) => {
  let remainder = byte << 8;
  for (let bit = 0; bit < 8; bit += 1) {
    remainder = remainder & 0x8000 ? (remainder << 1) ^ POLYNOMIAL : remainder << 1;
  }
  return remainder & 0xffff;
});

/**
 * Checksum of the bytes as one unsigned 16-bit number.
 *
 * @param bytes any number of bytes; none gives 0xFFFF
 * @source G. Cook, Catalogue of parametrised CRC algorithms, entry CRC-16/IBM-3740
 */
export function crc16(bytes: Uint8Array): number {
  let crc = 0xffff;
  for (const byte of bytes) {
    crc = ((crc << 8) & 0xffff) ^ (TABLE[(crc >> 8) ^ byte] ?? 0);
  }
  return crc;
}

/** The same over a text of which each character is one byte (latin1); what lies above a byte is not looked at. */
export function crc16OfText(text: string): number {
  let crc = 0xffff;
  for (let at = 0; at < text.length; at += 1) {
    crc = ((crc << 8) & 0xffff) ^ (TABLE[(crc >> 8) ^ (text.charCodeAt(at) & 0xff)] ?? 0);
  }
  return crc;
}
