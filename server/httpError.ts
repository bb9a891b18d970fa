/** An answer other than success, with the sentence the user reads. */
export class HttpError extends Error {
  readonly status: number;

  constructor(status: number, sentence: string) {
    super(sentence);
    this.status = status;
  }
}
