import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { startBuiltSite, type BuiltSite } from '../browser/site.ts';

const program = fileURLToPath(new URL('../../dist/server.js', import.meta.url));
let site: BuiltSite;
beforeAll(async () => {
  site = await startBuiltSite();
});
afterAll(() => site?.stop());

const start = (port: string) =>
  spawnSync(process.execPath, [program], {
    env: { ...process.env, PORT: port },
    encoding: 'utf8',
    timeout: 20_000,
  });

it('listens on this computer only and answers', async () => {
  expect(new URL(site.url).hostname).toBe('127.0.0.1');
  expect((await fetch(site.url)).status).toBe(200);
});

it('says in one sentence that the port is taken', () => {
  const { port } = new URL(site.url);
  const second = start(port);
  expect(second.status).toBe(1);
  expect(second.stderr.trim()).toMatch(new RegExp(`^Port ${port} is taken, .*PORT=\\d+ npm start$`));
});

it('refuses a port that is none', () => {
  const wrong = start('http');
  expect(wrong.status).toBe(1);
  expect(wrong.stderr).toContain('PORT must be a number');
});

it('still answers pages while it computes', async () => {
  const computing = fetch(`${site.url}/api/advise`, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify({ answers: { areaHa: 64 } }),
  });
  const before = performance.now();
  for (let i = 0; i < 5; i++) expect((await fetch(`${site.url}/questions`)).status).toBe(200);
  expect(performance.now() - before).toBeLessThan(2000);
  const advice = (await (await computing).json()) as { verdict: { headline: string } };
  expect(advice.verdict.headline).not.toBe('');
});
