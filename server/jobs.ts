import type { AdviceRequest } from '../src/advise/request.ts';
import type { Adviser, Outcome } from './core.ts';

/** One request under way or done. */
export interface Job {
  readonly outcome: Promise<Outcome>;
  readonly share: number;
  readonly doing: string;
  readonly done?: Outcome;
}

export interface Jobs {
  /** The job under this key, started if there is none. */
  start(key: string, request: () => AdviceRequest | Promise<AdviceRequest>): Job;
  find(key: string): Job | undefined;
  forget(key: string): void;
}

/**
 * Requests by key, so that reloading a page or fetching its stops doesn't compute again.
 * The latest `keep` are remembered; those still running are never dropped.
 */
export function createJobs(advise: Adviser, keep = 40): Jobs {
  const jobs = new Map<string, Job>();
  const prune = () => {
    for (const [key, job] of jobs) {
      if (jobs.size <= keep) return;
      if (job.done) jobs.delete(key);
    }
  };
  return {
    start(key, request) {
      const known = jobs.get(key);
      if (known) {
        jobs.delete(key);
        jobs.set(key, known);
        return known;
      }
      const job = begin(advise, request);
      jobs.set(key, job);
      prune();
      return job;
    },
    find: (key) => jobs.get(key),
    forget: (key) => void jobs.delete(key),
  };
}

function begin(advise: Adviser, request: () => AdviceRequest | Promise<AdviceRequest>): Job {
  const state: { share: number; doing: string; done?: Outcome } = {
    share: 0,
    doing: 'Reading what you brought',
  };
  const attempt = async (): Promise<Outcome> => {
    try {
      return await advise(await request(), (share, doing) => Object.assign(state, { share, doing }));
    } catch (error) {
      console.error(error);
      return { kind: 'failed', sentence: 'What was brought could not be read back from the disk.' };
    }
  };
  return {
    outcome: attempt().then((outcome) => (state.done = outcome)),
    get share() {
      return state.share;
    },
    get doing() {
      return state.doing;
    },
    get done() {
      return state.done;
    },
  };
}

/** The outcome if it comes within a time, else undefined. */
export async function within(job: Job, ms: number): Promise<Outcome | undefined> {
  let timer: NodeJS.Timeout | undefined;
  const late = new Promise<undefined>((resolve) => {
    timer = setTimeout(() => resolve(undefined), ms);
  });
  try {
    return await Promise.race([job.outcome, late]);
  } finally {
    clearTimeout(timer);
  }
}
