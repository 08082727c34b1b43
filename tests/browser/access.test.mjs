// Accessibility: axe's rules for WCAG 2.2 AA on every view, at a desk and on a narrow phone.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { axeFile, openTab, startBrowser, startPage } from './page.mjs';

const VIEWS = ['/', '/heat', '/heat?gauge=34&push_N=3', '/heat?gauge=x&push_N=much', '/bench', '/charts', '/charts?kind=iso-force', '/charts?kind=consequences',
  '/session', '/session/log', '/calibrations', '/cautions', '/nowhere'];
const RULES = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];

let page;
let browser;
before(async () => { page = await startPage(); browser = await startBrowser(); });
after(async () => { await browser?.close(); page?.stop(); });

for (const width of [1280, 320]) {
  test(`no view breaks a rule at ${width} px`, async () => {
    const found = [];
    for (const view of VIEWS) {
      // So high that the bar at the foot of a phone's screen covers nothing: under it a control is scrolled
      // free, which the rules do not know. The rules' own script is let in; the page's policy is tested elsewhere.
      const { tab, context } = await openTab(browser, { viewport: { width, height: 6000 }, bypassCSP: true });
      await tab.goto(page.address + view);
      await tab.addScriptTag({ path: axeFile });
      const broken = await tab.evaluate(async (tags) => {
        const result = await globalThis.axe.run(document, { runOnly: { type: 'tag', values: tags } });
        return result.violations.map((rule) => `${rule.id}: ${rule.nodes.map((node) => node.target.join(' ')).slice(0, 5).join('; ')}`);
      }, RULES);
      const over = await tab.evaluate(() => document.documentElement.scrollWidth - innerWidth);
      if (over > 0) broken.push(`${over} px stand out at the side`);
      found.push(...broken.map((rule) => `${view}: ${rule}`));
      await context.close();
    }
    assert.deepEqual(found, []);
  });
}
