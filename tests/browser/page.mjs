// Starts the page and a browser for the tests beside this file.
import { spawn } from 'node:child_process';
import { mkdirSync } from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';

const modules = process.env.HEATSET_NODE_MODULES;
const require = createRequire(path.join(modules, 'here.js'));
const { chromium } = require('playwright-core');

export const axeFile = require.resolve('axe-core/axe.min.js');
export const screenshots = path.resolve('target/screenshots');
mkdirSync(screenshots, { recursive: true });

const FLAGS = ['--headless', '--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run',
  '--disable-background-networking', '--disable-component-update', '--disable-sync'];

// The program, on a free port; resolves to its address.
export async function startPage(args = []) {
  const child = spawn(process.env.HEATSET, ['page', '--port', '0', ...args], { stdio: ['ignore', 'pipe', 'inherit'] });
  const address = await new Promise((resolve, reject) => {
    let said = '';
    child.stdout.on('data', (data) => {
      said += data;
      const found = /http:\/\/\S+/.exec(said);
      if (found) resolve(found[0].replace(/\/$/, ''));
    });
    child.on('exit', (code) => reject(new Error(`the page ended with ${code}: ${said}`)));
  });
  return { address, stop: () => child.kill('SIGKILL') };
}

export const startBrowser = () => chromium.launch({ executablePath: '/usr/bin/chromium', args: FLAGS });

// A tab that fails the test on a script error or a blocked resource.
export async function openTab(browser, options = {}) {
  const context = await browser.newContext({ viewport: { width: 1280, height: 900 }, acceptDownloads: true, ...options });
  const tab = await context.newPage();
  const faults = [];
  tab.on('pageerror', (error) => faults.push(String(error)));
  tab.on('console', (message) => {
    // A question that cannot be served is answered with 422, which the browser reports as an error.
    if (message.type() === 'error' && !/status of (422|404|403)/.test(message.text())) faults.push(message.text());
  });
  tab.setDefaultTimeout(30_000);
  return { tab, faults, context };
}

export const shot = (tab, name) => tab.screenshot({ path: path.join(screenshots, `${name}.png`), fullPage: true });
