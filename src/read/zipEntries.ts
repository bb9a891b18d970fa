/** A file inside a zip archive, as its central directory lists it. */
export interface ZipEntry {
  readonly name: string;
  /** Size once unpacked, bytes. */
  readonly size: number;
}

const END_SIGNATURE = 0x06054b50;
const ENTRY_SIGNATURE = 0x02014b50;

/**
 * Lists a zip archive's files without unpacking them (APPNOTE 6.3, central directory).
 * Undefined when the directory can't be found or doesn't hold together.
 */
export function zipEntries(bytes: Uint8Array): readonly ZipEntry[] | undefined {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const end = findEnd(view);
  if (end < 0) return undefined;
  const count = view.getUint16(end + 10, true);
  let at = view.getUint32(end + 16, true);
  const entries: ZipEntry[] = [];
  for (let i = 0; i < count; i++) {
    if (at + 46 > bytes.length || view.getUint32(at, true) !== ENTRY_SIGNATURE) return undefined;
    const nameLength = view.getUint16(at + 28, true);
    const name = new TextDecoder().decode(bytes.subarray(at + 46, at + 46 + nameLength));
    entries.push({ name, size: view.getUint32(at + 24, true) });
    at += 46 + nameLength + view.getUint16(at + 30, true) + view.getUint16(at + 32, true);
  }
  return entries;
}

/** Offset of the end-of-directory record: the last one, before an archive comment of at most 65535 bytes. */
function findEnd(view: DataView): number {
  const first = Math.max(0, view.byteLength - 22 - 65_535);
  for (let at = view.byteLength - 22; at >= first; at--)
    if (view.getUint32(at, true) === END_SIGNATURE) return at;
  return -1;
}
