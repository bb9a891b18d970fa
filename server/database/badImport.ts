import { HttpError } from '../httpError.ts';

/** Why a file can't be taken in, in one sentence; nothing of it was. */
export class BadImport extends HttpError {
  constructor(sentence: string) {
    super(422, sentence);
  }
}
