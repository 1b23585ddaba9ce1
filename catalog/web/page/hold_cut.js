// SPDX-License-Identifier: Apache-2.0
// The panel of the section: cut in the browser while the finger is on it, with the dimensions that
// the server measures meanwhile.
import {get, holdPath} from './api.js';
import {cutGeometry} from './cut.js';
import {h} from './dom.js';
import {bare, unitWord} from './format.js';
import {cutPicture, sectionPicture, sectionWords} from './section.js';

/**
 * @param hold      Its id, and `shape` of its last scan.
 * @param view      A MeshView, or null where there is no 3D.
 * @param onchange  Called when another place is chosen.
 * @returns {node, cut(rotation), path(rotation, scan), show(rotation, result), warm(rotation)}
 */
export function cutPanel(id, shape, view, onchange) {
  const width = shape?.footprintWidthMm?.value ?? 200;
  const reach = Math.ceil(Math.hypot(width, shape?.footprintHeightMm?.value ?? width) / 2);
  let offset;  // mm to the climber's right of the bolt; undefined: the best place.
  const drawn = h('div', {}), words = h('p', {'aria-live': 'polite'}), place = h('output', {for: 'cut-at'}, 'best place');
  const slide = h('input', {type: 'range', min: -reach, max: reach, step: 1, value: 0, id: 'cut-at'});
  const best = h('button', {class: 'chip', type: 'button', hidden: true, onclick: () => move(undefined)}, 'Back to the best place');
  const move = (mm) => {
    offset = mm;
    if (mm !== undefined) slide.value = mm;
    onchange();
  };
  slide.addEventListener('input', () => move(Number(slide.value)));
  if (view) view.onpick = move;

  /** The section as the browser cuts it, until the server has measured it. */
  const cut = (rotation) => {
    place.textContent = offset === undefined ? 'best place' : `${bare(offset)} ${unitWord()}`;
    best.hidden = offset === undefined;
    if (offset === undefined || !view?.mesh) return;
    const pieces = cutGeometry(view.mesh.geometry, rotation, offset);
    view.cut(pieces, offset);
    drawn.replaceChildren(cutPicture(pieces));
    drawn.dataset.cut = `${rotation},${offset.toFixed(1)}`;
  };
  /** @param result  Of asking path(): {value} a Shape, or {reason} an error. */
  const show = (rotation, {value: measured, reason}) => {
    const section = measured?.sections?.[0];
    if (section) {
      view?.section(section.pointsMm, section.offsetMm ?? 0);
      if (offset === undefined) slide.value = section.offsetMm ?? 0;
      drawn.replaceChildren(sectionPicture(measured));
      words.textContent = sectionWords(measured);
    } else {
      if (offset === undefined) {
        view?.section();
        drawn.replaceChildren();
      }
      words.textContent = reason?.message ?? measured?.notes?.[0] ?? 'Nothing is cut here.';
    }
    drawn.dataset.measured = `${rotation},${offset === undefined ? 'best' : offset.toFixed(1)}`;
  };
  const node = h('section', {class: 'panel', 'aria-label': 'Section'}, h('h2', {}, 'Section'), drawn, words,
    h('label', {class: 'tilt', for: 'cut-at'}, h('span', {}, 'Cut at'), slide, place),
    h('p', {class: 'soft'}, 'Touch the hold where you want it cut; the slider moves the cut to the left and right of the bolt. Drag to look around it; two fingers, or the plus key, come closer.'), best);
  return {
    node, cut, show,
    path: (rotation, scan) => holdPath(id, `/section?rotation=${rotation}` +
      (offset === undefined ? '' : `&offset=${offset.toFixed(1)}${scan ? `&scan=${scan}` : ''}`)),
    /** The server makes the hold ready to be cut, so that the first touch is answered at once. */
    warm: (rotation) => get(holdPath(id, `/section?rotation=${rotation}&offset=0`)).catch(() => {}),
  };
}
