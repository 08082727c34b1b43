// 200 clients at once, each with a connection of its own: no error, and the 99th percentile is told.
import assert from 'node:assert/strict';
import http from 'node:http';
import { after, before, test } from 'node:test';
import { startPage } from './page.mjs';

const CLIENTS = 200;
const EACH = 10;
let page;
before(async () => { page = await startPage(); });
after(() => page.stop());

function ask(agent, path) {
  return new Promise((resolve, reject) => {
    const began = performance.now();
    http.get(page.address + path, { agent }, (reply) => {
      reply.resume();
      reply.on('end', () => resolve({ status: reply.statusCode, ms: performance.now() - began }));
      reply.on('error', reject);
    }).on('error', reject);
  });
}

test('200 clients at once are all answered', async () => {
  const times = [];
  const refused = [];
  await Promise.all(Array.from({ length: CLIENTS }, async (_, client) => {
    const agent = new http.Agent({ keepAlive: true, maxSockets: 1 });
    for (let turn = 0; turn < EACH; turn += 1) {
      // Different questions, as different people ask: nothing can be answered from memory alone.
      const number = client * EACH + turn;
      const path = turn % 5 === 4 ? '/cautions' : `/heat?gauge=${25 + (number % 6)}&at_C=${75 + (number % 15)}&push_N=${10 + (number % 21)}`;
      const reply = await ask(agent, path);
      times.push(reply.ms);
      if (reply.status !== 200) refused.push(`${path}: ${reply.status}`);
    }
    agent.destroy();
  }));
  times.sort((a, b) => a - b);
  const at = (share) => times[Math.min(times.length - 1, Math.floor(share * times.length))].toFixed(0);
  console.log(`${times.length} requests by ${CLIENTS} clients: median ${at(0.5)} ms, 99th percentile ${at(0.99)} ms, longest ${at(1)} ms`);
  assert.deepEqual(refused, []);
  assert.equal(times.length, CLIENTS * EACH);
});
