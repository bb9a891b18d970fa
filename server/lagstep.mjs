#!/usr/bin/env node
// The `lagstep` command: sees that a fresh clone is installed and built, then hands over.
import { ensureBuild, ensurePackages } from './ensure.mjs';

ensurePackages();
ensureBuild();
const { main } = await import('../dist/cli.js');
process.exitCode = await main(process.argv.slice(2));
