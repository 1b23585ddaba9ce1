// SPDX-License-Identifier: Apache-2.0
// The night's loop, with two phones on one crate.
import assert from 'node:assert/strict';

const PHONE = {width: 390, height: 844};

/** A second phone. Without events it sees nothing of what others do until it asks. */
async function secondPage(page, {deaf = false} = {}) {
  const other = await page.context().newPage();
  other.setDefaultTimeout(10_000);
  if (deaf) await other.addInitScript(() => {
    window.EventSource = class { addEventListener() {} close() {} };
  });
  await other.setViewportSize(PHONE);
  return other;
}

export function crateTests({test, raw, readable}) {
  const json = {'Content-Type': 'application/json'};
  const climbOf = async (address, id) => JSON.parse((await raw(address, {path: `/api/v1/climbs/${id}`})).text);
  let id;

  test('crate: started on one phone, filled by wishes, seen on the other at once', async ({address, page}) => {
    await page.setViewportSize(PHONE);
    await page.goto(address + '#/crates');
    await page.click('text=Start a crate');
    await page.click('dialog .act >> text=Start it');
    assert.match(await page.textContent('dialog [role=alert]'), /name/);
    await readable(page);
    await page.fill('#crate-name', 'green 9');
    await page.click('dialog .chip >> text=harbour wave');
    await page.click('dialog .chip >> text=green');
    await page.click('dialog .act >> text=Start it');
    await page.waitForSelector('#wishes');
    id = decodeURIComponent(page.url().match(/crate\/(C-\d+)/)[1]);
    const other = await secondPage(page);
    await other.goto(`${address}#/crate/${id}/holds`);
    await other.waitForSelector('text=Nothing in it yet');

    await page.fill('#wishes', 'one jug to finish');
    await page.click('text=Look on the shelf');
    await page.waitForSelector('.offer .act');
    await readable(page);
    // What the page offers is what the program suggests.
    const reply = await raw(address, {path: `/api/v1/climbs/${id}/suggestions?wishes=one%20jug%20to%20finish`});
    const [wish] = JSON.parse(reply.text).wishes;
    assert.equal(await page.getAttribute('.offer', 'data-hold'), wish.chosen[0].hold);
    await page.click('.offer .act');
    await other.waitForSelector(`.crate-hold >> text=${wish.chosen[0].hold}`);
    assert.match(await other.textContent('.news'), /added/);
    await other.goto(`${address}#/crate/${id}/find`);
    await other.fill('#by-id', 'h-0016');
    await other.click('text=Add it');
    await page.waitForSelector('.news >> text=H-0016');
    assert.equal((await climbOf(address, id)).holds.length, 2);
    await other.close();
  });

  test('crate: who acts on what another has changed since is told so, and nothing is lost', async ({address, page, expectErrors}) => {
    expectErrors(/409/);
    const other = await secondPage(page, {deaf: true});
    await other.goto(`${address}#/crate/${id}/holds`);
    await other.waitForSelector('[aria-label="Drop H-0016"]');
    await page.goto(`${address}#/crate/${id}/holds`);
    await page.click('[aria-label="Drop H-0016"]');
    await page.waitForSelector('[aria-label="Drop H-0016"]', {state: 'detached'});
    await other.click('[aria-label="Change the use of H-0016"]');
    await other.waitForSelector('.conflict:not([hidden])');
    await readable(other);
    assert.match(await other.textContent('.conflict'), /was first: .*H-0016/);
    await other.waitForSelector('[aria-label="Drop H-0016"]', {state: 'detached'});  // It now shows what is.
    assert.equal(await other.locator('.crate-hold').count(), 1);
    // A change of another hold is not in the way, of the same hold it is.
    const add = (hold, version) => raw(address, {method: 'POST', path: `/api/v1/climbs/${id}/change?version=${version}`, headers: json,
                                                 body: JSON.stringify({added: {hold, foot: true}})});
    assert.equal((await add('H-0016', 1)).status, 409);
    assert.equal((await add('H-0018', 1)).status, 200);
    assert.equal((await add('H-0016', (await climbOf(address, id)).version)).status, 200);
    // What another crate has is said with who has it.
    const taken = await add('H-0018', (await climbOf(address, id)).version);
    assert.equal(taken.status, 400);
    assert.match(JSON.parse(taken.text).sentence, new RegExp(`in a crate ${id}|crate ${id}`));
    await other.close();
  });

  test('crate: fetched by bin, placed on T-nuts, checked, a check set aside with its reason', async ({address, page}) => {
    await page.goto(`${address}#/crate/${id}/fetch`);
    await page.waitForSelector('.tick');
    const pick = JSON.parse((await raw(address, {path: `/api/v1/climbs/${id}/pick`})).text);
    assert.equal(await page.locator('.tick').count(), pick.bins.flatMap((bin) => bin.lines).length);
    assert.ok((await page.textContent('.crate')).includes(pick.bolts.bag[0].label));

    await page.goto(`${address}#/crate/${id}/wall?hold=H-0016`);
    await page.waitForSelector('.panel-picture');
    assert.match(await page.textContent('.wall-part'), /Tap the T-nut of H-0016/);
    await page.fill('#place-column', '5');
    await page.press('#place-column', 'Tab');
    await page.fill('#place-row', '2');
    await page.press('#place-row', 'Tab');
    await page.click('text=Place H-0016');
    await page.waitForSelector('.mounted.foot');
    let climb = await climbOf(address, id);
    assert.deepEqual({column: 5, row: 2}, (({column, row}) => ({column, row}))(climb.holds.find((h) => h.hold === 'H-0016' && !h.gone).placement));
    // Holds are chosen above the plan, and one line says what to do.
    const [chips, plan] = await Promise.all(['.which', '.panel-picture'].map((each) => page.locator(each).boundingBox()));
    assert.ok(chips.y + chips.height <= plan.y, 'the holds stand above the plan');
    assert.ok(plan.y < 600, `the plan begins at ${plan.y} px of the phone's 844`);
    const chosen = page.locator('.which [aria-pressed="true"]');
    if (await chosen.count()) await chosen.click();  // None is chosen then.
    assert.equal((await page.textContent('.wall-part')).match(/T-nut/g).length, 1);
    assert.match(await page.textContent('.wall-part'), /Choose a hold; then tap its T-nut/);
    // A finger on the picture finds the nearest T-nut.
    await page.click('.chip >> text=buoy');
    await page.locator('.panel-picture').click();  // In its middle.
    const [column, row] = [Number(await page.inputValue('#place-column')), Number(await page.inputValue('#place-row'))];
    assert.ok(column >= 6 && column <= 7 && row >= 6 && row <= 9, `${column}, ${row}`);

    await page.goto(`${address}#/crate/${id}/checks`);
    await page.waitForSelector('text=No bolt recorded: gravel step');
    const open = JSON.parse((await raw(address, {path: `/api/v1/climbs/${id}/checks`})).text).open;
    assert.equal(await page.textContent('.crate [role=status]'), `${open} to look at`);
    await page.click('[aria-label="Set aside: No bolt recorded of H-0016"]');
    await page.fill('dialog input', 'two screws, seen');
    // Its live event comes before its answer, and is not told as somebody else's.
    await page.route('**/change?*', async (route) => {
      const response = await route.fetch();
      await new Promise((resolve) => { setTimeout(resolve, 400); });
      await route.fulfill({response});
    });
    await page.click('dialog .act >> text=Set it aside');
    await page.waitForSelector('.crate >> text=two screws, seen');
    await page.unroute('**/change?*');
    assert.equal(await page.textContent('.crate [role=status]'), `${open - 1} to look at`);
    assert.equal(await page.locator('.news li').count(), 0);
  });

  test('crate: what was stored is not said to be undone, and what may be is not said to be', async ({address, page, expectErrors}) => {
    expectErrors(/status of 50[03]|net::ERR_/);
    const notes = async () => ((await climbOf(address, id)).notes ?? []).map((note) => note.text);
    await page.goto(`${address}#/crate/${id}/record`);
    await page.waitForSelector('.crate ol li');
    // Stored, but what the page asks for after that does not come.
    let fails = 1;
    await page.route('**/history', (route) => (fails-- > 0 ? route.fulfill({status: 500, contentType: 'application/json',
      body: '{"sentence": "The disk is tired."}'}) : route.continue()));
    await page.fill('#climb-note', 'second hold spins');
    await page.click('text=Write it down');
    await page.waitForSelector('.conflict >> text=It is stored. What is there now could not be read: The disk is tired.');
    await readable(page);
    assert.match(await page.textContent('#said'), /Noted/);
    assert.equal(await page.inputValue('#climb-note'), '');
    assert.deepEqual((await notes()).filter((text) => text === 'second hold spins').length, 1);
    await page.click('.conflict >> text=Look again');
    await page.waitForSelector('.conflict', {state: 'hidden'});
    await page.waitForSelector('li >> text=second hold spins');
    await page.unroute('**/history');
    // No answer, or one of a server that lost its library: nobody here knows. What is there then shows it.
    for (const [note, answer] of [
      ['top out is dusty', (route) => route.abort('connectionreset')],
      ['foot chip is loose', (route) => route.fulfill({status: 503, contentType: 'application/json',
        body: '{"sentence": "The library cannot be used just now."}'})]]) {
      await page.route('**/change?*', async (route) => {
        await route.fetch();
        await answer(route);
      });
      await page.fill('#climb-note', note);
      await page.click('text=Write it down');
      await page.waitForSelector('.conflict >> text=It may have been stored. ');
      await page.waitForSelector(`li >> text=${note}`);
      await page.unroute('**/change?*');
      assert.equal(await page.inputValue('#climb-note'), note);
      assert.deepEqual((await notes()).filter((text) => text === note).length, 1);
    }
  });

  test('crate: a swap from the shelf, a note, and the climb stripped to the wash', async ({address, page}) => {
    await page.goto(`${address}#/crate/${id}/holds`);
    await page.click('[aria-label="Swap H-0016"]');
    await page.click('dialog .chip >> text=as a foothold');
    await page.waitForSelector('dialog .offer .act');
    await readable(page);
    const offers = JSON.parse((await raw(address, {path: `/api/v1/climbs/${id}/swaps?hold=H-0016&like=foot`})).text).offers;
    await page.click('dialog .offer .act');
    await page.waitForSelector(`[aria-label="Drop ${offers[0].hold}"]`);
    await page.goto(`${address}#/crate/${id}/record`);
    await page.fill('#climb-note', 'third move is a stretch');
    await page.click('text=Write it down');
    await page.waitForSelector('li >> text=third move is a stretch');
    await page.click('text=Strip it');
    await page.click('text=Strip it now');
    await page.waitForSelector('#said >> text=Stripped');
    assert.equal((await climbOf(address, id)).state, 'STRIPPED');
    for (const {hold} of (await climbOf(address, id)).holds.filter((each) => !each.gone))
      assert.equal(JSON.parse((await raw(address, {path: `/api/v1/holds/${hold}`})).text).status, 'WASH');
  });
}
