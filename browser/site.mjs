// The pages of a fresh rack, and a browser that looks at them and notes every complaint.
import { spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium } from 'playwright-core';

const FLAGS = ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync'];

// Starts the program on a fresh store; gives its address and how to end it.
export async function serve(program) {
  const folder = mkdtempSync(join(tmpdir(), 'linkwright-'));
  const child = spawn(program, ['serve', '--store', join(folder, 'rack.db'), '--port', '0'], { stdio: ['ignore', 'pipe', 'inherit'] });
  const address = await new Promise((resolve, reject) => {
    let said = '';
    child.stdout.on('data', (part) => {
      said += part;
      const found = said.match(/http:\/\/\S+/);
      if (found) resolve(found[0]);
    });
    child.on('exit', (status) => reject(new Error(`the pages ended with ${status}: ${said}`)));
  });
  const end = async () => {
    child.removeAllListeners('exit');
    const ended = new Promise((resolve) => child.once('exit', (status, signal) => resolve(status ?? signal)));
    child.kill('SIGTERM');
    const status = await ended;
    rmSync(folder, { recursive: true, force: true });
    return status;
  };
  return { address, end };
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
