/* A text of capitals, figures and "$%*+-./: " as a square code (ISO/IEC 18004, error correction L, versions 1 to 15),
   drawn as one path with the four clear modules round it. */
"use strict";
(function () {
  const LETTERS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:", QUIET = 4;
  const SPARE = [7, 10, 15, 20, 26, 18, 20, 24, 30, 18, 20, 24, 26, 30, 22], BLOCKS = [1, 1, 1, 1, 1, 2, 2, 2, 2, 4, 4, 4, 4, 4, 6];

  /* Powers of two in the field of 256 elements, modulo x^8 + x^4 + x^3 + x^2 + 1, and their logarithms. */
  const power = [1], log = [];
  for (let i = 1; i < 255; i += 1) { power[i] = power[i - 1] < 128 ? power[i - 1] * 2 : (power[i - 1] * 2) ^ 285; }
  power.forEach((value, i) => { log[value] = i; });
  const times = (a, b) => (a && b ? power[(log[a] + log[b]) % 255] : 0);

  const size = (version) => 17 + 4 * version;
  function places(version) {
    if (version === 1) { return []; }
    const count = Math.floor(version / 7) + 2, step = Math.ceil((version * 4 + 4) / (count * 2 - 2)) * 2, found = [6];
    for (let at = size(version) - 7; found.length < count; at -= step) { found.splice(1, 0, at); }
    return found;
  }
  function words(version) {
    const count = version > 1 ? Math.floor(version / 7) + 2 : 0;
    let modules = (16 * version + 128) * version + 64;
    if (count) { modules -= (25 * count - 10) * count - 55; }
    return Math.floor((modules - (version >= 7 ? 36 : 0)) / 8);
  }
  const data = (version) => words(version) - SPARE[version - 1] * BLOCKS[version - 1];

  function bitsOf(text, version) {
    const bits = [];
    const put = (value, width) => { for (let i = width - 1; i >= 0; i -= 1) { bits.push((value >> i) & 1); } };
    put(2, 4);
    put(text.length, version < 10 ? 9 : 11);
    for (let i = 0; i < text.length; i += 2) {
      const one = LETTERS.indexOf(text[i]), two = LETTERS.indexOf(text[i + 1] || "");
      if (i + 1 < text.length) { put(one * 45 + two, 11); } else { put(one, 6); }
    }
    return bits;
  }

  function codewords(text, version) {
    const bits = bitsOf(text, version), room = data(version) * 8, bytes = [];
    for (let i = 0; i < 4 && bits.length < room; i += 1) { bits.push(0); }
    while (bits.length % 8) { bits.push(0); }
    for (let i = 0; i < bits.length; i += 8) { bytes.push(parseInt(bits.slice(i, i + 8).join(""), 2)); }
    for (let pad = 236; bytes.length < data(version); pad = pad === 236 ? 17 : 236) { bytes.push(pad); }
    return bytes;
  }

  function spare(bytes, count) {
    let factor = [1];
    for (let i = 0; i < count; i += 1) {
      const next = factor.concat(0);
      factor.forEach((value, k) => { next[k + 1] ^= times(value, power[i]); });
      factor = next;
    }
    const rest = bytes.concat(new Array(count).fill(0));
    bytes.forEach((_, i) => {
      const lead = rest[i];
      factor.forEach((value, k) => { rest[i + k] ^= times(value, lead); });
    });
    return rest.slice(bytes.length);
  }

  function woven(text, version) {
    const blocks = BLOCKS[version - 1], more = SPARE[version - 1], all = codewords(text, version);
    const short = Math.floor(words(version) / blocks) - more, long = words(version) % blocks, parts = [];
    for (let i = 0, at = 0; i < blocks; i += 1) {
      const length = short + (i >= blocks - long ? 1 : 0);
      parts.push(all.slice(at, at + length));
      at += length;
    }
    const spares = parts.map((part) => spare(part, more)), found = [];
    for (let i = 0; i <= short; i += 1) { for (const part of parts) { if (i < part.length) { found.push(part[i]); } } }
    for (let i = 0; i < more; i += 1) { for (const part of spares) { found.push(part[i]); } }
    return found;
  }

  function frame(version) {
    const n = size(version), grid = Array.from({ length: n }, () => new Array(n).fill(null)), at = places(version);
    const set = (x, y, dark) => { if (x >= 0 && y >= 0 && x < n && y < n) { grid[y][x] = dark ? 1 : 0; } };
    for (let i = 0; i < n; i += 1) { set(6, i, i % 2 === 0); set(i, 6, i % 2 === 0); }
    for (const [cx, cy] of [[3, 3], [n - 4, 3], [3, n - 4]]) {
      for (let y = -4; y <= 4; y += 1) { for (let x = -4; x <= 4; x += 1) {
        const ring = Math.max(Math.abs(x), Math.abs(y));
        set(cx + x, cy + y, ring !== 2 && ring !== 4);
      } }
    }
    for (const cy of at) { for (const cx of at) {
      if ((cx === 6 && cy === 6) || (cx === 6 && cy === n - 7) || (cx === n - 7 && cy === 6)) { continue; }
      for (let y = -2; y <= 2; y += 1) { for (let x = -2; x <= 2; x += 1) { set(cx + x, cy + y, Math.max(Math.abs(x), Math.abs(y)) !== 1); } }
    } }
    return grid;
  }

  function remainder(value, bits, divisor) {
    let rest = value << bits;
    for (let i = 31 - Math.clz32(rest); i >= bits; i -= 1) { if ((rest >> i) & 1) { rest ^= divisor << (i - bits); } }
    return (value << bits) | rest;
  }
  function told(grid, version, mask) {
    const n = grid.length, format = remainder(8 | mask, 10, 0x537) ^ 0x5412;
    for (let i = 0; i < 15; i += 1) {
      const bit = (format >> i) & 1;
      if (i < 6) { grid[i][8] = bit; } else if (i < 8) { grid[i + 1][8] = bit; } else { grid[n - 15 + i][8] = bit; }
      if (i < 8) { grid[8][n - 1 - i] = bit; } else if (i < 9) { grid[8][7] = bit; } else { grid[8][14 - i] = bit; }
    }
    grid[n - 8][8] = 1;
    if (version < 7) { return; }
    const number = remainder(version, 12, 0x1f25);
    for (let i = 0; i < 18; i += 1) {
      const bit = (number >> i) & 1, a = Math.floor(i / 3), b = n - 11 + (i % 3);
      grid[a][b] = bit;
      grid[b][a] = bit;
    }
  }

  const MASKS = [(x, y) => (x + y) % 2, (x, y) => y % 2, (x) => x % 3, (x, y) => (x + y) % 3, (x, y) => (Math.floor(x / 3) + Math.floor(y / 2)) % 2,
    (x, y) => ((x * y) % 2) + ((x * y) % 3), (x, y) => (((x * y) % 2) + ((x * y) % 3)) % 2, (x, y) => (((x + y) % 2) + ((x * y) % 3)) % 2];

  function filled(text, version, mask) {
    const grid = frame(version), n = grid.length;
    told(grid, version, mask);
    const bits = woven(text, version).flatMap((word) => Array.from({ length: 8 }, (_, i) => (word >> (7 - i)) & 1));
    let at = 0, up = true;
    for (let right = n - 1; right > 0; right -= right === 8 ? 3 : 2, up = !up) {
      for (let i = 0; i < n; i += 1) {
        const y = up ? n - 1 - i : i;
        for (const x of [right, right - 1]) {
          if (grid[y][x] !== null) { continue; }
          grid[y][x] = (bits[at] || 0) ^ (MASKS[mask](x, y) ? 0 : 1);
          at += 1;
        }
      }
    }
    return grid;
  }

  /* How hard a grid is to read: long runs of one shade, and too much of one. */
  function burden(grid) {
    const n = grid.length;
    let points = 0, dark = 0;
    for (const line of [...grid, ...grid.map((_, x) => grid.map((row) => row[x]))]) {
      let run = 1;
      for (let i = 1; i <= n; i += 1) {
        if (i < n && line[i] === line[i - 1]) { run += 1; continue; }
        points += run > 4 ? run - 2 : 0;
        run = 1;
      }
    }
    for (const row of grid) { for (const one of row) { dark += one; } }
    return points + Math.floor(Math.abs(dark * 20 - n * n * 10) / (n * n)) * 10;
  }

  /* The code as an svg element that says `label` to a screen reader. */
  globalThis.homecareCode = function (text, label) {
    let version = 1;
    while (version < 15 && bitsOf(text, version).length > data(version) * 8) { version += 1; }
    const grids = MASKS.map((_, mask) => filled(text, version, mask));
    const grid = grids.reduce((best, one) => (burden(one) < burden(best) ? one : best)), n = grid.length + 2 * QUIET;
    const svg = document.createElementNS(document.querySelector("svg").namespaceURI, "svg"), path = document.createElementNS(svg.namespaceURI, "path");
    path.setAttribute("d", grid.flatMap((row, y) => row.map((one, x) => (one ? `M${x + QUIET} ${y + QUIET}h1v1h-1z` : ""))).join(""));
    for (const [name, value] of [["viewBox", `0 0 ${n} ${n}`], ["class", "code"], ["role", "img"], ["aria-label", label], ["shape-rendering", "crispEdges"]]) {
      svg.setAttribute(name, value);
    }
    svg.append(path);
    return svg;
  };
})();
