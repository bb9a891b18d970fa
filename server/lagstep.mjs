#!/usr/bin/env node
// The `lagstep` command: sees that a fresh clone is installed and built, then hands over.
import { ensureBuild, ensurePackages } from './ensure.mjs';

ensurePackages();
ensureBuild();
const { main } = await import('../dist/cli.js');
try {
  process.exitCode = await main(process.argv.slice(2));
} catch (error) {
  // A mistake of the program's, not of the input: the trace only for those who ask for it.
  process.stderr.write(`lagstep failed by its own fault: ${error.message}\n`);
  if (process.env.LAGSTEP_TRACE) process.stderr.write(`${error.stack}\n`);
  process.exitCode = 1;
}
