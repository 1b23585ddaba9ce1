// SPDX-License-Identifier: Apache-2.0
// Numbers as people read them; millimetres inside, always.

const kept = (key, fallback) => {
  try {
    return localStorage.getItem(key) ?? fallback;
  } catch {
    return fallback;
  }
};

export const settings = {
  get inch() { return kept('units', 'mm') === 'inch'; },
  get sigma() { return kept('sigma', 'off') === 'on'; },
  set(key, value) {
    try {
      localStorage.setItem(key, value);
    } catch { /* Private window: holds for this page only. */ }
    window.dispatchEvent(new Event('settings'));
  },
};

/** Decimals that a standard uncertainty deserves: its first digit, the second too when it is a 1. */
function decimalsFor(sigma) {
  if (!(sigma > 0)) return 1;
  const exponent = Math.floor(Math.log10(sigma));
  const first = Math.floor(sigma / 10 ** exponent + 1e-9);
  return Math.max(0, Math.min(3, -exponent + (first === 1 ? 1 : 0)));
}

/** A Measured ({value, sigma}), in the unit shown; ± when asked for. */
function measured(m, unit, scale = 1) {
  if (!m) return 'not measured';
  const value = (m.value ?? 0) * scale, sigma = (m.sigma ?? 0) * scale;
  const decimals = decimalsFor(sigma);
  const space = unit === '°' ? '' : ' ';
  const plain = value.toFixed(settings.sigma ? decimals : Math.min(decimals, unit === 'in' ? 2 : 1));
  if (!settings.sigma || !(sigma > 0)) return plain + space + unit;
  const rounded = sigma.toFixed(decimals);
  return `${plain} ± ${Number(rounded) > 0 ? rounded : '<' + (10 ** -decimals).toFixed(decimals)}${space}${unit}`;
}

export const length = (m) => settings.inch ? measured(m, 'in', 1 / 25.4) : measured(m, 'mm');
export const angle = (m) => measured(m, '°');
export const area = (m) => settings.inch ? measured(m, 'in²', 1 / 645.16) : measured(m, 'cm²', 1e-2);
export const volume = (m) => settings.inch ? measured(m, 'in³', 1 / 16387.064)
                                          : measured(m, 'cm³', 1e-3);

/** A bare length in mm, short: "22.0" or "0.87". */
export const bare = (mm) => settings.inch ? (mm / 25.4).toFixed(2) : mm.toFixed(mm < 30 ? 1 : 0);
export const unitWord = () => settings.inch ? 'in' : 'mm';
export const degrees = (deg) => `${Math.round(deg)}°`;

/** "14 to 20 mm" of a filter's ends. */
export function rangeText(from, to, unit) {
  const scale = unit === 'mm' && settings.inch ? 1 / 25.4 : 1;
  const shown = unit === 'mm' ? unitWord() : unit;
  const number = (v) => scale === 1 ? String(v) : (v * scale).toFixed(2);
  const space = shown === '°' || shown === '' ? '' : ' ';
  if (from === undefined) return `up to ${number(to)}${space}${shown}`;
  if (to === undefined) return `${number(from)}${space}${shown} or more`;
  return `${number(from)} to ${number(to)}${space}${shown}`;
}

export const STATUS = {
  SHELF: 'on the shelf', CRATE: 'in a crate', WALL: 'on the wall', WASH: 'in the wash',
  NEEDS_LOOK: 'needs a look', RETIRED: 'retired',
};

/** A gap between two surfaces or lines, to a hundredth. */
export const gap = (mm) => settings.inch ? `${(mm / 25.4).toFixed(3)} in` : `${mm.toFixed(2)} mm`;

/** "20° overhanging", "vertical", "8° slab" of a wall angle. */
export const lean = (deg) => deg === 0 ? 'vertical' : deg > 0 ? `${deg}° overhanging` : `${-deg}° slab`;

const ROLES = ['', 'look', 'set', 'log', 'head'];
/** Whether this device may what needs a role. */
export const may = (about, role) => ROLES.indexOf(about.role ?? '') >= ROLES.indexOf(role);

/** A time as RFC 3339 in this device's way of writing. */
export const time = (at) => at ? new Date(at).toLocaleString('en-GB', {
  year: 'numeric', month: 'short', day: 'numeric', hour: '2-digit', minute: '2-digit'}) : '';
