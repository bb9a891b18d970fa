import { existsSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import ejs from 'ejs';
import express, { type Express } from 'express';
import type { Context } from './context.ts';
import type { Core } from './core.ts';
import { createKeeping } from './database/keeping.ts';
import { errorPages, nothingHere } from './errorPages.ts';
import { createFarmJobs } from './farmJobs.ts';
import type { FieldThreads } from './farmRun.ts';
import { createFarmStore } from './farmStore.ts';
import { passingOn, standingAdvisers } from './farmWorkers.ts';
import { createJobs } from './jobs.ts';
import { answerRoutes } from './routes/answer.ts';
import { apiRoutes } from './routes/api.ts';
import { casesRoutes } from './routes/cases.ts';
import { demoRoutes } from './routes/demo.ts';
import { farmRoutes } from './routes/farm.ts';
import { filesRoutes } from './routes/files.ts';
import { guidanceRoutes } from './routes/guidance.ts';
import { savedRoutes } from './routes/saved.ts';
import { startRoutes } from './routes/start.ts';
import { walksRoutes } from './routes/walks.ts';
import { ownHostOnly, sameOriginPosts, securityHeaders } from './security.ts';
import { createStore } from './store.ts';
import { createWalkStore } from './walkStore.ts';

export interface AppOptions {
  readonly core: Core;
  /** Where cases are kept. */
  readonly dataDir: string;
  /** The demo farm, a folder a field. */
  readonly demoDir: string;
  /** The folder that holds `views/` and `dist/`. */
  readonly root?: string;
  readonly patienceMs?: number;
}

/** One up from this file, whether it runs from `server/` or bundled in `dist/`. */
export const projectRoot = fileURLToPath(new URL('..', import.meta.url));

/** The whole site as an express app; it doesn't listen yet. */
export function createApp(options: AppOptions): Express {
  const root = options.root ?? projectRoot;
  const keeping = createKeeping(options.dataDir);
  keeping.start();
  const context: Context = {
    core: options.core,
    jobs: createJobs(options.core.advise),
    store: createStore(keeping),
    demoDir: options.demoDir,
    patienceMs: options.patienceMs ?? 2500,
  };
  const app = express();
  app.disable('x-powered-by');
  app.set('query parser', 'simple');
  app.engine('ejs', ejs.renderFile as unknown as Parameters<Express['engine']>[1]);
  app.set('view engine', 'ejs');
  app.set('views', path.join(root, 'views', 'pages'));
  app.enable('view cache');
  app.use(securityHeaders, ownHostOnly, sameOriginPosts);
  app.use('/assets', express.static(path.join(root, 'views', 'styles')));
  app.use('/assets', express.static(path.join(root, 'dist', 'assets')));
  for (const routes of [startRoutes, answerRoutes, filesRoutes, casesRoutes, demoRoutes, apiRoutes])
    app.use(routes(context));
  app.use(guidanceRoutes());
  app.use(savedRoutes({ ...context, keeping }));
  const { demoDir, patienceMs } = context;
  app.use(
    farmRoutes({
      store: createFarmStore(options.dataDir),
      jobs: createFarmJobs(),
      threads: fieldThreads(options.core),
      demoDir,
      patienceMs,
    }),
  );
  app.use(walksRoutes({ ...context, root, walks: createWalkStore(keeping.use) }));
  app.use(nothingHere, errorPages);
  return app;
}

/** Most fields of a farm that go the way of single ones at a time. */
const FEW = 2;

/** A farm's fields in threads that stay from field to field, where the bundle holds them; else each like a single field. */
function fieldThreads({ advise }: Core): FieldThreads {
  const bundled = new URL('./cli.js', import.meta.url);
  if (!existsSync(bundled)) return { most: FEW, open: () => passingOn(advise) };
  const most = availableParallelism();
  return { most, open: () => standingAdvisers(bundled.href, most) };
}
