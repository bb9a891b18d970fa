import path from 'node:path';
import { createApp, projectRoot } from './app.ts';
import { wholeCore } from './wholeCore.ts';

const HOST = '127.0.0.1';
const port = Number(process.env.PORT ?? 4173);

if (!Number.isInteger(port) || port < 0 || port > 65535) {
  console.error(`PORT must be a number from 0 to 65535, not “${process.env.PORT}”.`);
  process.exit(1);
}

const app = createApp({
  core: wholeCore(new URL('./adviceWorker.js', import.meta.url)),
  dataDir: process.env.LAGSTEP_DATA ?? path.join(projectRoot, '.lagstep'),
  demoDir: path.join(projectRoot, 'demo-data'),
});

const server = app.listen(port, HOST, (error?: Error) => {
  if (error) {
    console.error(whyNot(error as NodeJS.ErrnoException));
    process.exit(1);
  }
  const address = server.address();
  console.log(`Lagstep is at http://${HOST}:${typeof address === 'object' && address ? address.port : port}`);
});

function whyNot(error: NodeJS.ErrnoException): string {
  if (error.code === 'EADDRINUSE')
    return `Port ${port} is taken, perhaps by another Lagstep. Stop that one, or choose a port: PORT=${port + 1} npm start`;
  if (error.code === 'EACCES')
    return `Port ${port} may not be used by this account. Choose one above 1023: PORT=4173 npm start`;
  return `Lagstep could not start listening: ${error.message}`;
}

function stop(): void {
  server.close(() => process.exit(0));
  server.closeIdleConnections();
  // Whoever is still being answered gets a moment; then it ends.
  setTimeout(() => process.exit(0), 3000).unref();
}

process.once('SIGINT', stop);
process.once('SIGTERM', stop);
