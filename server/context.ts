import type { Core } from './core.ts';
import type { Jobs } from './jobs.ts';
import type { Store } from './store.ts';

/** What the routes work with. */
export interface Context {
  readonly core: Core;
  readonly jobs: Jobs;
  readonly store: Store;
  readonly demoDir: string;
  /** How long a page waits for the answer before it shows that it is being worked on, ms. */
  readonly patienceMs: number;
}
