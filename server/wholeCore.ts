import { guessRole } from '../src/advise/index.ts';
import { stopsToCsv, stopsToGeoJSON } from '../src/plan/index.ts';
import type { Core } from './core.ts';
import { workerAdviser } from './runAdvice.ts';

/** The inside as the pages use it, computing in workers bundled at `workerUrl`. */
export function wholeCore(workerUrl: URL): Core {
  return { advise: workerAdviser({ url: workerUrl }), guessRole, stopsToCsv, stopsToGeoJSON };
}
