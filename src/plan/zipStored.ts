/** A file for an archive; the name in ASCII. */
export interface ZipFile {
  readonly name: string;
  readonly bytes: Uint8Array;
}

/** 1 January 1980, the first day the format knows: what is packed carries no clock, so the same plan gives the same bytes. */
const FIRST_DAY = (1 << 5) | 1;

/** Files to a zip archive, stored as they are (PKWARE APPNOTE 6.3: local headers, central directory, end record). */
export function zipStored(files: readonly ZipFile[]): Uint8Array<ArrayBuffer> {
  const parts: Uint8Array[] = [];
  const directory: Uint8Array[] = [];
  let offset = 0;
  for (const { name, bytes } of files) {
    const nameBytes = new TextEncoder().encode(name);
    const crc = crc32(bytes);
    const fields = (write: FieldWriter) => {
      write.u16(20); // version needed
      write.u16(0); // flags
      write.u16(0); // stored
      write.u16(0); // time
      write.u16(FIRST_DAY);
      write.u32(crc);
      write.u32(bytes.length);
      write.u32(bytes.length);
      write.u16(nameBytes.length);
      write.u16(0); // extra field
    };
    const local = record(30, (write) => {
      write.u32(0x04034b50);
      fields(write);
    });
    const at = offset;
    directory.push(
      record(46, (write) => {
        write.u32(0x02014b50);
        write.u16(20); // version made by
        fields(write);
        write.u16(0); // comment
        write.u16(0); // disk
        write.u16(0); // internal attributes
        write.u32(0); // external attributes
        write.u32(at);
      }),
      nameBytes,
    );
    parts.push(local, nameBytes, bytes);
    offset += local.length + nameBytes.length + bytes.length;
  }
  const directorySize = directory.reduce((sum, part) => sum + part.length, 0);
  const end = record(22, (write) => {
    write.u32(0x06054b50);
    write.u16(0);
    write.u16(0);
    write.u16(files.length);
    write.u16(files.length);
    write.u32(directorySize);
    write.u32(offset);
    write.u16(0);
  });
  return joined([...parts, ...directory, end]);
}

interface FieldWriter {
  u16(value: number): void;
  u32(value: number): void;
}

function record(length: number, fill: (write: FieldWriter) => void): Uint8Array {
  const view = new DataView(new ArrayBuffer(length));
  let at = 0;
  fill({
    u16(value) {
      view.setUint16(at, value, true);
      at += 2;
    },
    u32(value) {
      view.setUint32(at, value, true);
      at += 4;
    },
  });
  return new Uint8Array(view.buffer);
}

function joined(parts: readonly Uint8Array[]): Uint8Array<ArrayBuffer> {
  const all = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    all.set(part, at);
    at += part.length;
  }
  return all;
}

const CRC_TABLE = Uint32Array.from({ length: 256 }, (_, n) => {
  let c = n;
  for (let bit = 0; bit < 8; bit++) c = c & 1 ? 0xedb88320 ^ (c >>> 1) : c >>> 1;
  return c;
});

/** CRC-32 of ISO 3309, as the archive format asks. */
function crc32(bytes: Uint8Array): number {
  let crc = 0xffffffff;
  for (const byte of bytes) crc = CRC_TABLE[(crc ^ byte) & 0xff] ^ (crc >>> 8);
  return (crc ^ 0xffffffff) >>> 0;
}
