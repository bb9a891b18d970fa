import type { Advice } from '../src/advise/advice.ts';
import type { AdviceReply, AdviceRequest, FileRole, Progress } from '../src/advise/request.ts';

/** How a request ended: with a reply, or cut off for a reason said in one sentence. */
export type Outcome =
  | { readonly kind: 'reply'; readonly reply: AdviceReply }
  | { readonly kind: 'failed'; readonly sentence: string };

/** Runs one request somewhere that doesn't hold up the pages. It never throws. */
export type Adviser = (request: AdviceRequest, progress: Progress) => Promise<Outcome>;

/** All that the pages know of the inside. */
export interface Core {
  readonly advise: Adviser;
  readonly guessRole: (name: string, bytes: Uint8Array) => FileRole;
  readonly stopsToGeoJSON: (advice: Advice) => object;
  readonly stopsToCsv: (advice: Advice) => string;
}

/** What a file can be taken for, in the order of the form. */
export const fileRoles: readonly FileRole[] = [
  'points',
  'boundary',
  'soilUnits',
  'yield',
  'keepOut',
  'guidance',
];
