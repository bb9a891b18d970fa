/** Work that takes minutes, one farm at a time; who comes meanwhile waits in line. */
export interface FarmJob<T> {
  /** Never rejects: what broke off says so by `failed`. */
  readonly outcome: Promise<T | { readonly failed: true }>;
  readonly share: number;
  readonly doing: string;
}

export interface FarmJobs<T> {
  /** The job under this key, put in line if there is none; undefined when the line is too long. */
  start(
    key: string,
    work: (progress: (share: number, doing: string) => void) => Promise<T>,
  ): FarmJob<T> | undefined;
  find(key: string): FarmJob<T> | undefined;
}

/** Most farms that may wait. */
const MOST_WAITING = 12;

/** A job is forgotten when it is over: what it brought is on disk. */
export function createFarmJobs<T>(): FarmJobs<T> {
  const jobs = new Map<string, FarmJob<T>>();
  let last: Promise<unknown> = Promise.resolve();
  return {
    find: (key) => jobs.get(key),
    start(key, work) {
      const known = jobs.get(key);
      if (known) return known;
      if (jobs.size > MOST_WAITING) return undefined;
      const state = {
        share: 0,
        doing: jobs.size === 0 ? 'Reading the list' : 'Waiting for another farm to finish',
      };
      const run = async () => {
        try {
          return await work((share, doing) => Object.assign(state, { share, doing }));
        } catch (error) {
          console.error(error);
          return { failed: true as const };
        } finally {
          jobs.delete(key);
        }
      };
      const outcome = last.then(run);
      last = outcome;
      const job: FarmJob<T> = {
        outcome,
        get share() {
          return state.share;
        },
        get doing() {
          return state.doing;
        },
      };
      jobs.set(key, job);
      return job;
    },
  };
}
