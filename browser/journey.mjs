// What every journey does: it goes to pages, and looks at them closely.
import assert from 'node:assert/strict';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { AxeBuilder } from '@axe-core/playwright';

const RULES = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];

export class Journey {
  constructor(address, page, width, folder) { Object.assign(this, { address, page, width, folder, looked: new Set() }); }

  async go(path) { await this.page.goto(this.address.replace(/\/$/, '') + path); }

  // What axe finds, whether the page is wider than the screen, and the page itself for the Nu checker.
  async look(name, { picture = true, html = true } = {}) {
    if (this.looked.has(name)) return;
    this.looked.add(name);
    const found = await new AxeBuilder({ page: this.page }).withTags(RULES).analyze();
    const serious = found.violations.filter((one) => ['serious', 'critical'].includes(one.impact));
    const told = serious.map((one) => `${one.id}: ${one.nodes.map((node) => `${node.target} ${node.failureSummary}`).join('\n  ')}`);
    assert.deepEqual(told, [], `axe on ${name} at ${this.width} px`);
    const wide = await this.page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
    assert.ok(wide <= 0, `${name} is ${wide} px wider than a screen of ${this.width} px`);
    if (html) writeFileSync(join(this.folder, `${name}-${this.width}.html`), await (await this.page.context().request.get(this.page.url())).text());
    if (process.env.SHOTS && picture) await this.page.screenshot({ path: join(this.folder, `${name}-${this.width}.png`), fullPage: true });
  }
}
