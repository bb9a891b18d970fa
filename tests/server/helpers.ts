import { mkdtemp, rm } from 'node:fs/promises';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { createApp, type AppOptions } from '../../server/app.ts';
import type { Adviser, Core } from '../../server/core.ts';
import type { AdviceRequest } from '../../src/advise/request.ts';
import { sampleAdvice } from '../views/sampleAdvice.ts';

/** The site on a free port, with an inside that can be swapped. */
export interface Site {
  readonly url: string;
  readonly dataDir: string;
  /** Requests the inside was given, in order. */
  readonly asked: AdviceRequest[];
  get(address: string, init?: RequestInit): Promise<Response>;
  close(): Promise<void>;
}

/** An inside that answers at once; a points file that says “bad” is refused, “slow” takes its time, “crash” fails. */
export function sampleAdviser(asked: AdviceRequest[]): Adviser {
  return async (request, progress) => {
    asked.push(request);
    const text = request.files.map((f) => new TextDecoder().decode(f.bytes)).join('');
    if (text.includes('bad')) {
      const problem = {
        file: 'points.csv',
        row: 14,
        column: 'P',
        problem: 'The value “x” is not a number.',
        remedy: 'Type a number.',
      };
      return { kind: 'reply', reply: { ok: false, problems: [problem] } };
    }
    if (text.includes('crash'))
      return { kind: 'failed', sentence: 'The calculation broke off on this input.' };
    if (text.includes('slow')) {
      progress(0.4, 'Comparing designs');
      await new Promise((resolve) => setTimeout(resolve, 900));
    }
    const unitSystem = request.options?.unitSystem === 'metric' ? 'metric' : 'us';
    return {
      kind: 'reply',
      reply: {
        ok: true,
        advice: sampleAdvice({
          unitSystem,
          points: request.files.some((f) => f.role !== 'boundary'),
          newer: text.includes('newer'),
          set: request.options,
        }),
      },
    };
  };
}

export async function openSite(options: Partial<AppOptions> = {}): Promise<Site> {
  const dataDir = await mkdtemp(path.join(tmpdir(), 'lagstep-test-'));
  const asked: AdviceRequest[] = [];
  const core: Core = {
    advise: sampleAdviser(asked),
    guessRole: (name) => (/bound/.test(name) ? 'boundary' : /yield/.test(name) ? 'yield' : 'points'),
    stopsToGeoJSON: (advice) => ({ type: 'FeatureCollection', features: advice.stops.map((s) => s.order) }),
    stopsToCsv: (advice) => `stop\n${advice.stops.map((s) => s.order).join('\n')}\n`,
  };
  const app = createApp({ core, dataDir, demoDir: path.join(dataDir, 'demo'), patienceMs: 200, ...options });
  const server = app.listen(0, '127.0.0.1');
  await new Promise((resolve) => server.once('listening', resolve));
  const url = `http://127.0.0.1:${(server.address() as AddressInfo).port}`;
  return {
    url,
    dataDir,
    asked,
    get: (address, init) => fetch(url + address, { redirect: 'manual', ...init }),
    close: async () => {
      server.closeAllConnections();
      await new Promise((resolve) => server.close(resolve));
      await rm(dataDir, { recursive: true, force: true });
    },
  };
}

/** A form with files: `[field, name, content]`. */
export function formOf(
  files: readonly (readonly [string, string, string])[],
  fields: Readonly<Record<string, string>> = {},
): FormData {
  const form = new FormData();
  for (const [name, value] of Object.entries(fields)) form.append(name, value);
  for (const [field, name, content] of files) form.append(field, new Blob([content]), name);
  return form;
}
