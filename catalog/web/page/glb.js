// SPDX-License-Identifier: Apache-2.0
// Reads the server's own GLB files (glTF 2.0 binary, KHR_mesh_quantization): one mesh, one node.
import {BufferAttribute, BufferGeometry} from './lib/three.module.min.js';

const ARRAYS = {5120: Int8Array, 5121: Uint8Array, 5122: Int16Array, 5123: Uint16Array,
                5125: Uint32Array, 5126: Float32Array};
const WIDTHS = {SCALAR: 1, VEC3: 3, VEC4: 4};
const NAMES = {POSITION: 'position', NORMAL: 'normal', COLOR_0: 'color', _GUESSWORK: 'guesswork',
               _VALUE: 'value'};

/** The accessor's numbers, tightly packed, in its own type. */
function unpack(json, bin, index) {
  const accessor = json.accessors[index], view = json.bufferViews[accessor.bufferView];
  const Type = ARRAYS[accessor.componentType], width = WIDTHS[accessor.type];
  const size = Type.BYTES_PER_ELEMENT, stride = view.byteStride ?? size * width;
  const out = new Type(accessor.count * width);
  const source = new Type(bin.buffer, bin.byteOffset + view.byteOffset,
                          Math.floor(view.byteLength / size));
  const step = stride / size;
  for (let i = 0; i < accessor.count; ++i)
    for (let k = 0; k < width; ++k) out[i * width + k] = source[i * step + k];
  return {array: out, width, normalized: Boolean(accessor.normalized)};
}

/** @returns {BufferGeometry} in millimetres, the hold frame; attributes guesswork and value where
 *  the file has them. */
export function readGlb(buffer) {
  const header = new DataView(buffer);
  if (header.getUint32(0, true) !== 0x46546c67) throw new Error('The mesh is no GLB file.');
  const jsonLength = header.getUint32(12, true);
  const json = JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, 20, jsonLength)));
  const bin = new Uint8Array(buffer, 28 + jsonLength);
  const primitive = json.meshes[0].primitives[0], node = json.nodes[0];
  const geometry = new BufferGeometry();
  for (const [name, index] of Object.entries(primitive.attributes)) {
    const {array, width, normalized} = unpack(json, bin, index);
    geometry.setAttribute(NAMES[name] ?? name, new BufferAttribute(array, width, normalized));
  }
  const steps = geometry.getAttribute('position'), places = new Float32Array(steps.count * 3);
  for (let i = 0; i < steps.count; ++i)
    for (let k = 0; k < 3; ++k)
      places[3 * i + k] = (steps.array[3 * i + k] / 32767 * node.scale[k] + node.translation[k]) * 1000;
  geometry.setAttribute('position', new BufferAttribute(places, 3));
  const indices = unpack(json, bin, primitive.indices);
  geometry.setIndex(new BufferAttribute(indices.array, 1));
  return geometry;
}
