// The pages of a fresh rack, and a browser that looks at them and notes every complaint.
import { execFileSync, spawn } from 'node:child_process';
import { randomUUID } from 'node:crypto';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium } from 'playwright-core';

const FLAGS = ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync'];

// Starts the program on a fresh store, which `prepare` may fill first, with further arguments; gives its address, how to kill it in the midst of things, how to start it again there, whether it
// has ended, and how to end it.
export async function serve(program, { prepare = () => {}, more = [] } = {}) {
  const folder = mkdtempSync(join(tmpdir(), 'linkwright-'));
  const store = database() ?? join(folder, 'rack.db');
  prepare(store);
  let { child, address } = await started(program, store, '0', more);
  const port = new URL(address).port;
  // The status it ended with, now or before: of one that has ended already nothing more is heard.
  const left = (signal) => {
    child.removeAllListeners('exit');
    if (gone()) return Promise.resolve(child.exitCode ?? child.signalCode);
    const ended = new Promise((resolve) => child.once('exit', (status, how) => resolve(status ?? how)));
    child.kill(signal);
    return ended;
  };
  const kill = () => left('SIGKILL');
  const again = async () => { ({ child, address } = await started(program, store, port, more)); };
  const gone = () => child.exitCode !== null || child.signalCode !== null;
  const end = async () => {
    const status = await left('SIGTERM');
    rmSync(folder, { recursive: true, force: true });
    return status;
  };
  return { address, store, kill, again, gone, end };
}

// A database of its own where there is a PostgreSQL server (scripts/with-postgres).
function database() {
  const server = process.env.LINKWRIGHT_TEST_POSTGRES;
  if (!server) return null;
  const name = `pages_${randomUUID().replaceAll('-', '')}`;
  execFileSync('createdb', ['--maintenance-db', server, name]);
  const address = new URL(server);
  address.pathname = name;
  return `${address}`;
}

async function started(program, store, port, more) {
  const child = spawn(program, ['serve', '--store', store, '--port', port, ...more], { stdio: ['ignore', 'pipe', 'inherit'] });
  const address = await new Promise((resolve, reject) => {
    let said = '';
    child.stdout.on('data', (part) => {
      said += part;
      const found = said.match(/http:\/\/\S+/);
      if (found) resolve(found[0]);
    });
    child.on('exit', (status) => reject(new Error(`the pages ended with ${status}: ${said}`)));
  });
  return { child, address };
}

export function browser() {
  return chromium.launch({ executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: FLAGS });
}

// A page whose complaints are kept.
export async function open(browser, width, options = {}) {
  const context = await browser.newContext({ viewport: { width, height: 900 }, ...options });
  const page = await context.newPage();
  const complaints = [];
  page.on('console', (line) => { if (['error', 'warning'].includes(line.type())) complaints.push(`${page.url()}: ${line.text()}`); });
  page.on('pageerror', (fault) => complaints.push(`${page.url()}: ${fault.stack}`));
  page.on('requestfailed', (request) => { if (!/ERR_ABORTED/.test(request.failure()?.errorText ?? '')) complaints.push(`${request.url()}: ${request.failure()?.errorText}`); });
  page.setDefaultTimeout(30_000);
  return { page, complaints, context };
}
