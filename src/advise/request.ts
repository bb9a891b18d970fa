import type { Answers } from '../prior/questions.ts';
import type { ColumnChoice } from '../read/records.ts';
import type { Problem } from '../read/problem.ts';
import type { Advice } from './advice.ts';

/** What a given file is taken for. */
export type FileRole = 'points' | 'boundary' | 'soilUnits' | 'yield' | 'guidance' | 'keepOut';

export interface GivenFile {
  readonly role: FileRole;
  readonly name: string;
  readonly bytes: Uint8Array;
  /** Corrections of columns by header. */
  readonly columns?: Readonly<Record<string, ColumnChoice>>;
}

/** One field's question as a face hands it over; options are raw and validated inside. */
export interface AdviceRequest {
  readonly fieldName?: string;
  readonly files: readonly GivenFile[];
  readonly answers?: Answers;
  readonly options?: Readonly<Record<string, unknown>>;
}

export type AdviceReply =
  | { readonly ok: true; readonly advice: Advice }
  | { readonly ok: false; readonly problems: readonly Problem[] };

/**
 * Called now and then with the share done (0 to 1) and what is being worked on.
 * It may throw {@link AdviceStopped} to have the work given up.
 */
export type Progress = (share: number, doing: string) => void;

/** The asker no longer wants the answer. */
export class AdviceStopped extends Error {
  constructor() {
    super('The advice was stopped.');
    this.name = 'AdviceStopped';
  }
}
