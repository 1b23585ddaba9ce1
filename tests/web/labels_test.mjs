// SPDX-License-Identifier: Apache-2.0
// Labels on the page: the PDF that is asked for, and where its codes lead.
import assert from 'node:assert/strict';

/** Registers the tests. tools: {raw, checkScreen}. */
export function labelsTests(test, {raw, checkScreen}) {
  test('labels: the page asks for the sheet that was chosen', async ({address, page}) => {
    await page.goto(`${address}#/labels?holds=H-0001`);
    await page.waitForSelector('#sheet');
    await checkScreen(page, 'labels');
    await page.selectOption('#sheet', '62x29');
    const link = await page.getAttribute('a:has-text("Make the PDF")', 'href');
    assert.match(link, /sheet=62x29/);
    const reply = await raw(address, {path: link});
    assert.equal(reply.headers['content-type'], 'application/pdf');
    assert.match(reply.text, /^%PDF-1/);
    await page.click('.chip >> text=The bins themselves');
    const bins = await raw(address, {path: await page.getAttribute('a:has-text("Make the PDF")', 'href')});
    assert.equal(bins.status, 200, bins.text.slice(0, 200));
    for (const wrong of ['sheet=A4-7', 'skip=99', 'holds=H-9999', 'bin=nowhere', 'address=http://elsewhere.example/'])
      assert.ok([400, 404].includes((await raw(address, {path: `/api/v1/labels.pdf?${wrong}`})).status), wrong);
  });

  test('labels: a bin’s code leads to what is in the bin, a hold’s to the hold', async ({address, page}) => {
    await page.goto(`${address}#/shelf?bin=A1`);
    await page.waitForFunction(() => /hold/.test(document.querySelector('.count')?.textContent));
    assert.equal(await page.inputValue('#search'), 'bin A1');
    await page.waitForSelector('.card >> text=H-0001');
    await page.fill('#search', '');
  });
}
