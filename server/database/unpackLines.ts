import type { Readable } from 'node:stream';
import { createGunzip } from 'node:zlib';
import { BadImport } from './badImport.ts';

const NEWLINE = 0x0a;

/** Most that a file may unpack to, and most in one line, bytes: a small file can be made to unpack without end. */
export interface UnpackLimits {
  readonly allBytes: number;
  readonly lineBytes: number;
}

/**
 * The lines of a gzipped text as they come.
 * @throws BadImport when it isn't gzipped, breaks off, isn't text, or is larger than the limits
 */
export async function* unpackLines(packed: Readable, limits: UnpackLimits): AsyncGenerator<string> {
  const unpacked = createGunzip();
  packed.once('error', (error) => unpacked.destroy(error));
  packed.pipe(unpacked);
  const decoder = new TextDecoder('utf-8', { fatal: true });
  let pieces: Buffer[] = [];
  let lineBytes = 0;
  let allBytes = 0;
  try {
    for await (const chunk of unpacked as AsyncIterable<Buffer>) {
      allBytes += chunk.length;
      let start = 0;
      for (let end = chunk.indexOf(NEWLINE); end >= 0; end = chunk.indexOf(NEWLINE, start)) {
        pieces.push(chunk.subarray(start, end));
        yield decoder.decode(pieces.length === 1 ? pieces[0] : Buffer.concat(pieces));
        pieces = [];
        lineBytes = 0;
        start = end + 1;
      }
      pieces.push(chunk.subarray(start));
      lineBytes += chunk.length - start;
      if (allBytes > limits.allBytes || lineBytes > limits.lineBytes)
        throw new BadImport('The file holds more than can be taken in.');
    }
  } catch (error) {
    throw unpackTrouble(error);
  } finally {
    packed.destroy();
    unpacked.destroy();
  }
  if (lineBytes > 0) throw brokenOff();
}

const brokenOff = () => new BadImport('The file breaks off before its end. Fetch or copy it again.');

function unpackTrouble(error: unknown): unknown {
  const code = (error as { code?: unknown }).code;
  if (code === 'Z_BUF_ERROR') return brokenOff();
  if (typeof code === 'string' && (code.startsWith('Z_') || code === 'ERR_ENCODING_INVALID_ENCODED_DATA'))
    return new BadImport('This is not a file that Lagstep exported, or it was damaged on the way.');
  return error;
}
