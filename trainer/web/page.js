// The page of the trainer: it draws cells and sends keys. What the messages mean
// stands in frame.go and input.go. Nothing of a trial is known here but its picture.
'use strict';
{
const $ = id => document.getElementById(id);
const canvas = $('picture'), body = document.body, stage = $('stage');
const exact = {alpha: false, colorSpace: 'srgb'}; // leaving the space out gave wrong colours on wide screens
const ctx = canvas.getContext('2d', exact);
// Text is drawn on a transparent layer first: on an opaque one some systems draw
// letters with coloured edges, and nothing here may have a hue but the patches.
const layer = document.createElement('canvas'), pen = layer.getContext('2d', {colorSpace: 'srgb'});

// ---- the picture ------------------------------------------------------------

let w = 0, h = 0, sign = [], ink = [], ground = [], bold = [], wide = [];
let cw = 8, ch = 16, font = 13, fonts = ['', ''], number = 0, keys = [], typing = false, refused = 0;
const hex = c => '#' + c.toString(16).padStart(6, '0');
const family = 'ui-monospace, "DejaVu Sans Mono", Menlo, Consolas, "Noto Sans Mono", "Liberation Mono", monospace';
// Lines are rectangles, so that they join: left, top, right, bottom as parts of a cell.
const lines = {'─': [0, .47, 1, .53], '━': [0, .42, 1, .58], '╺': [.5, .42, 1, .58], '╸': [0, .42, .5, .58], '▌': [0, 0, .5, 1], '▐': [.5, 0, 1, 1],
  '▁': [0, .875, 1, 1], '▂': [0, .75, 1, 1], '▃': [0, .625, 1, 1], '▅': [0, .375, 1, 1], '▆': [0, .25, 1, 1], '▇': [0, .125, 1, 1]};

function clear(nw, nh, g) {
  w = nw; h = nh;
  const n = w * h;
  sign = new Array(n).fill(''); ink = new Array(n).fill(g); ground = new Array(n).fill(g);
  bold = new Array(n).fill(false); wide = new Array(n).fill(1);
  measure();
}

// draw paints the cells i … to−1 of one row.
function draw(i, to) {
  const y = Math.floor(i / w) * ch, x0 = (i % w) * cw;
  let letters = false;
  for (let k = i; k < to;) {
    let end = k + 1;
    while (end < to && ground[end] === ground[k]) end++;
    ctx.fillStyle = hex(ground[k]);
    ctx.fillRect(x0 + (k - i) * cw, y, (end - k) * cw, ch);
    k = end;
  }
  for (let k = i; k < to; k++) {
    const s = sign[k], x = x0 + (k - i) * cw;
    if (s === '▀') {
      ctx.fillStyle = hex(ink[k]);
      ctx.fillRect(x, y, cw, Math.round(ch / 2));
    } else if (lines[s]) {
      const [l, t, r, b] = lines[s], left = Math.round(l * cw), top = Math.round(t * ch);
      ctx.fillStyle = hex(ink[k]);
      ctx.fillRect(x + left, y + top, Math.round(r * cw) - left, Math.max(1, Math.round(b * ch) - top));
    } else if (s) letters = true;
  }
  if (!letters) return;
  const width = (to - i) * cw;
  pen.clearRect(0, 0, width, ch);
  for (let k = i; k < to; k++) {
    if (!sign[k] || sign[k] === '▀' || lines[sign[k]]) continue;
    pen.font = fonts[+bold[k]];
    pen.fillStyle = hex(ink[k]);
    pen.fillText(sign[k], (k - i) * cw + wide[k] * cw / 2, ch * .76, wide[k] * cw * 1.15);
  }
  ctx.drawImage(layer, 0, 0, width, ch, x0, y, width, ch);
}

function drawAll() {
  if (!w) return;
  for (let y = 0; y < h; y++) draw(y * w, y * w + w);
  body.parentElement.style.setProperty('--ground', hex(ground[0]));
}

// measure lays the cells out: whole device pixels each, as large as there is room.
function measure() {
  if (!w) return;
  const dpr = devicePixelRatio || 1, room = roomFor();
  cw = Math.max(3, Math.floor(room.w * dpr / w));
  ch = Math.max(6, Math.min(Math.floor(room.h * dpr / h), Math.floor(cw * 2.5)));
  cw = Math.min(cw, Math.max(3, Math.floor(ch / 1.7)));
  canvas.width = w * cw; canvas.height = h * ch;
  layer.width = w * cw; layer.height = ch;
  const css = px => px / dpr + 'px';
  canvas.style.width = css(w * cw); canvas.style.height = css(h * ch);
  canvas.style.left = css(Math.max(0, Math.floor((room.w * dpr - w * cw) / 2)));
  canvas.style.top = css(body.classList.contains('tall') ? 0 : Math.max(0, Math.floor((room.h * dpr - h * ch) / 2)));
  if (body.classList.contains('tall')) stage.style.height = css(h * ch); else stage.style.height = '';
  font = Math.floor(Math.min(cw / .6, ch / 1.17));
  fonts = ['', 'bold '].map(b => b + font + 'px ' + family);
  pen.textAlign = 'center';
  drawAll();
}

// roomFor is the place there is for the picture, in CSS pixels.
function roomFor() {
  const flat = innerHeight < 500 && innerWidth > innerHeight, tall = innerWidth < 640 && !flat;
  body.classList.toggle('flat', flat); body.classList.toggle('tall', tall);
  body.classList.toggle('touch', flat || tall || is('(pointer: coarse)'));
  if (tall) return {w: innerWidth, h: innerHeight * .46};
  return {w: stage.clientWidth, h: stage.clientHeight};
}

// cells is how many cells there is room for, in a size that can be read.
function cells() {
  const room = roomFor(), large = Math.max(9, room.w / 160, room.h / 50 / 2);
  // Upright on a telephone: 80 columns are as wide as it is, rows make the patches large.
  if (body.classList.contains('tall')) return [80, Math.max(24, Math.min(50, Math.floor(room.h / (room.w / 80 * 2.4))))];
  return [Math.max(80, Math.min(160, Math.floor(room.w / large))), Math.max(24, Math.min(50, Math.floor(room.h / large / 2)))];
}

// apply reads a picture and draws it.
function apply(view) {
  let at = 2;
  const bytes = new Uint8Array(view.buffer), text = new TextDecoder();
  const n = () => { let v = 0, s = 1; for (;;) { const b = bytes[at++]; v += (b & 127) * s; if (b < 128) return v; s *= 128; } };
  const rgb = () => { at += 3; return bytes[at - 3] << 16 | bytes[at - 2] << 8 | bytes[at - 1]; };
  const words = () => { const l = n(); at += l; return text.decode(bytes.subarray(at - l, at)); };
  const colours = [], colour = () => { const c = n(); if (c) return colours[c - 1]; colours.push(rgb()); return colours[colours.length - 1]; };
  const got = view.getUint32(at), flags = bytes[at + 4];
  at += 5;
  if (flags & 1) { const nw = view.getUint16(at), nh = view.getUint16(at + 2); at += 4; clear(nw, nh, rgb()); }
  if (flags & 2) { const r = n(); if (r > refused) brief('A key was not taken: it was pressed for the picture before.'); refused = r; }
  if (flags & 4) { typing = !!bytes[at++]; keys = Array.from({length: n()}, () => [words(), words(), words()]); showKeys(); }
  const runs = [], changed = new Set(), before = rows();
  let i = 0;
  const put = (k, s, g, f, b, cols) => { sign[k] = s; ground[k] = g; ink[k] = f; bold[k] = b; wide[k] = cols; };
  while (at < bytes.length) {
    const head = n(), kind = head & 7;
    i += Math.floor(head / 8);
    const from = i;
    if (kind === 0) { const len = n(), g = colour(); for (let e = i + len; i < e; i++) put(i, '', g, g, false, 1); }
    else if (kind < 3) { const g = colour(), f = colour(); for (const s of words()) put(i++, s === ' ' ? '' : s, g, f, kind === 2, 1); }
    else if (kind === 3) { for (let e = i + n(); i < e; i++) { const u = colour(); put(i, '▀', colour(), u, false, 1); } }
    else { const c = bytes[at++], g = colour(), f = colour(); put(i, words(), g, f, kind === 5, c); if (c > 1) put(i + 1, '', g, f, false, 1); i += c; }
    runs.push([from, i]);
    changed.add(Math.floor(from / w));
  }
  if (flags & 1) drawAll(); else for (const [a, b] of runs) draw(a, b);
  number = got;
  tell(before, runs, !!(flags & 1));
  return got;
}

// ---- words, for who cannot see or cannot read the picture --------------------

const rows = () => Array.from({length: h}, (_, y) => { let s = ''; for (let x = 0; x < w; x++) s += sign[y * w + x] || ' '; return s; });
const spoken = s => s.replace(/[─━┃╺╸▀▌▁-█│┌┐└┘├┤]/g, ' ').replace(/\s{2,}/g, ', ').replace(/^[,\s]+|[,\s]+$/g, '');

// isFoot tells the rows that only list keys: all that is bold in them are keys. They
// are buttons where there are any.
function isFoot(y, s) {
  const strong = [...s].map((c, x) => bold[y * w + x] ? c : ' ').join('').trim().split(/\s+/);
  return strong[0] !== '' && strong.every(k => keys.some(([, show]) => show === k || /[–…]/.test(k))) && /\S\s\S/.test(s);
}

// tell says what has changed: rows with other words, and what has become bold, which
// is what is chosen. A count of seconds is not said.
function tell(before, runs, whole) {
  const now = rows(), said = [], digits = s => s.replace(/\d+ s\b/g, '');
  for (let y = 0; y < h; y++) {
    if (!isFoot(y, now[y]) && (whole || digits(now[y]) !== digits(before[y] || ''))) said.push(spoken(now[y]));
    else for (const [a, b] of runs) if (Math.floor(a / w) === y && bold[a]) said.push(spoken(now[y].slice(a % w, (b - 1) % w + 1)));
  }
  const text = said.filter(Boolean).join('. ');
  if (text) $('said').textContent = text;
  if (body.classList.contains('tall')) showWords(now);
}

// showWords repeats the words in a size that can be read on a telephone. A tap on
// them is a click on the place where they stand in the picture.
function showWords(now) {
  const list = [];
  let last = null;
  for (let y = 0; y < h; y++) {
    const s = now[y].replace(/[─━┃╺╸▀▌]/g, ' ');
    if (!spoken(s) || isFoot(y, s)) { last = null; continue; }
    const start = s.search(/[^\s·▸]/), pieces = [...s.matchAll(/\S+(?: {1,2}\S+)*/g)];
    let p = last && last.start === start && last.long ? last.p : null;
    if (p) p.append(' '); else list.push(p = document.createElement('p'));
    for (const [n, m] of pieces.entries()) {
      const part = document.createElement('span');
      part.onclick = () => { mouse(1, m.index, y); mouse(0, m.index, y); };
      for (let x = m.index, end = x + m[0].length; x < end;) {
        let e = x + 1;
        while (e < end && (bold[y * w + e] === bold[y * w + x] || !sign[y * w + e])) e++;
        const b = bold[y * w + x] ? document.createElement('b') : part;
        b.append(s.slice(x, e));
        if (b !== part) part.append(b);
        x = e;
      }
      if (n) p.append(' · ');
      p.append(part);
    }
    last = {start, long: pieces.length === 1 && s.trimEnd().length > w * .7, p};
  }
  $('words').replaceChildren(...list);
}

function showKeys() {
  const alike = does => keys.filter(k => k[2] === does).length;
  let said = '';
  $('keys').replaceChildren(...keys.filter(k => alike(k[2]) <= 10).map(([press, show, does]) => { // a long list is tapped itself
    const b = document.createElement('button'), k = document.createElement('b'), d = document.createElement('span');
    k.textContent = show;
    d.textContent = does === said ? '' : does;
    said = does;
    b.setAttribute('aria-label', show + ', ' + does);
    b.append(k, d);
    b.tabIndex = -1;
    b.onpointerdown = e => e.preventDefault(); // the focus stays where it is
    b.onclick = () => {
      key(press, 0);
      if (press === 'backspace') $('type').value = field = [...field].slice(0, -1).join('');
    };
    return b;
  }));
  $('type').hidden = !(typing && body.classList.contains('touch'));
  if (!typing) $('type').value = field = '';
  if (body.classList.contains('touch')) requestAnimationFrame(measure);
}

let briefly = 0;
function brief(text) {
  $('state').textContent = text;
  clearTimeout(briefly);
  briefly = setTimeout(() => { $('state').textContent = ''; }, 4000);
}

// ---- the socket --------------------------------------------------------------

let socket = null, tries = 0, heard = 0, waiting = 0, over = false;

function message(kind, size, fill) {
  const v = new DataView(new ArrayBuffer(1 + size));
  v.setUint8(0, kind);
  fill && fill(v);
  send(v.buffer);
}
const send = b => { if (socket && socket.readyState === 1) socket.send(b); };

function connect() {
  clearTimeout(waiting);
  if (over || socket && socket.readyState < 2) return;
  number = 0;
  const s = socket = new WebSocket(new URL(body.dataset.socket, location.href.replace(/^http/, 'ws')));
  s.binaryType = 'arraybuffer';
  heard = Date.now();
  s.onopen = () => { const [cols, lns] = cells(); asked = cols + 'x' + lns; refused = 0;
    message(1, 5, v => { v.setUint8(1, 1); v.setUint16(2, cols); v.setUint16(4, lns); }); told = ''; report(); };
  s.onmessage = e => {
    if (s !== socket) return;
    heard = Date.now();
    const v = new DataView(e.data);
    if (v.getUint8(0) !== 1) { location.reload(); return; } // another version of the program
    if (v.getUint8(1) === 2) { const token = v.getUint32(2); message(6, 4, p => p.setUint32(1, token)); return; }
    tries = 0;
    notice();
    const got = apply(v);
    message(5, 4, p => p.setUint32(1, got));
  };
  s.onclose = e => { if (s === socket) lost(e.code); };
}

function lost(code) {
  socket = null;
  number = 0;
  if (code === 4000) { over = true; return notice('The trainer has ended.', 'Every answer that you gave is kept.', 'home'); }
  if (code === 4001) { over = true; return notice('This is shown in another window now.', 'It goes on there. Nothing is lost.', 'here'); }
  if (code === 4003) { over = true; return notice('You are not signed in any more.', 'Every answer that you gave is kept, and the drill is offered again.', 'home'); }
  notice('The connection is lost.', 'Nothing is lost: every answer that you gave is kept, and the same trial will stand here. The page comes back by itself.');
  const wait = Math.min(15000, 500 * 2 ** Math.min(tries++, 6)) * (.5 + Math.random()); // a class comes back at once: not in one moment
  clearTimeout(waiting);
  waiting = setTimeout(connect, wait);
}

// notice covers the picture: a look does not go on while nobody counts it.
function notice(what, more, offer) {
  $('notice').hidden = !what;
  if (!what) return;
  $('what').textContent = what; $('more').textContent = more;
  $('home').hidden = offer !== 'home'; $('here').hidden = offer !== 'here';
}

// alive finds out whether the socket is: after sleep it says so and is not.
function alive() {
  if (over) return;
  if (!socket || socket.readyState > 1) return connect();
  if (socket.readyState !== 1) return;
  const since = Date.now();
  message(7, 0);
  setTimeout(() => { if (socket && heard < since) renew(); }, 4000);
}
function renew() {
  const s = socket;
  socket = null;
  if (s) { s.onclose = null; s.close(); }
  lost(0);
}
setInterval(() => { if (socket && socket.readyState === 1 && Date.now() - heard > 40000) renew(); }, 5000);

// ---- keys, mouse, touch ------------------------------------------------------

const named = {Enter: 'enter', ArrowLeft: 'left', ArrowRight: 'right', ArrowUp: 'up', ArrowDown: 'down', Home: 'home', End: 'end',
  PageUp: 'page up', PageDown: 'page down', Backspace: 'backspace', Delete: 'delete', Escape: 'escape', ' ': 'space'};

// key sends a key with the number of the picture it was pressed on. One that is
// pressed while there is no picture is not kept for later.
function key(name, mods) {
  if (!number || !socket || socket.readyState !== 1) { brief('Not connected: the key was not taken.'); return; }
  const b = new TextEncoder().encode(name);
  if (b.length > 9) return;
  message(2, 5 + b.length, v => { v.setUint32(1, number); v.setUint8(5, mods); new Uint8Array(v.buffer).set(b, 6); });
}
function mouse(buttons, x, y) {
  if (!number || x < 0 || y < 0 || x >= w || y >= h) return;
  message(3, 9, v => { v.setUint32(1, number); v.setUint8(5, buttons); v.setUint16(6, x); v.setUint16(8, y); });
}
function pointer(buttons, e) {
  const r = canvas.getBoundingClientRect();
  mouse(buttons, Math.floor((e.clientX - r.left) / r.width * w), Math.floor((e.clientY - r.top) / r.height * h));
}
addEventListener('keydown', e => {
  if (e.isComposing || $('screen').open || !$('notice').hidden || e.target.closest('footer, #notice, #type')) return;
  const altGr = e.getModifierState('AltGraph');
  if ((e.ctrlKey || e.metaKey || e.altKey) && !altGr) return; // the browser's own
  const name = named[e.key] || ([...e.key].length === 1 ? e.key : '');
  if (!name) return;
  e.preventDefault();
  key(name, e.shiftKey && named[e.key] ? 1 : 0);
});
canvas.addEventListener('click', e => { pointer(1, e); pointer(0, e); });
let turned = 0;
canvas.addEventListener('wheel', e => {
  e.preventDefault();
  turned += e.deltaMode ? Math.sign(e.deltaY) * 40 : e.deltaY;
  if (Math.abs(turned) >= 40) { pointer(turned < 0 ? 8 : 16, e); turned = 0; }
}, {passive: false});
// What is typed with the keyboard of a telephone comes as changes of a field (words
// are put together and taken back), so what has changed at its end is sent as keys.
let field = '';
$('type').addEventListener('input', e => {
  const was = [...field], now = [...e.target.value];
  let same = 0;
  while (same < was.length && was[same] === now[same]) same++;
  for (let k = same; k < was.length; k++) key('backspace', 0);
  for (const c of now.slice(same)) key(c === ' ' ? 'space' : c, 0);
  field = e.target.value;
});
$('type').addEventListener('keydown', e => {
  if (e.isComposing) return;
  if (e.key === 'Enter') { key('enter', 0); e.target.value = field = ''; }
  if (e.key === 'Backspace' && !field) key('backspace', 0); // what stood there before
});
$('here').onclick = () => { over = false; connect(); };
$('close').onclick = () => $('screen').close();
$('about').onclick = () => { about(); $('screen').showModal(); };
$('screen').addEventListener('close', () => canvas.focus());

// ---- size, and what the browser says of its display ---------------------------

let asked = '', settle = 0, told = '';
function resized() {
  measure();
  clearTimeout(settle);
  settle = setTimeout(() => {
    const [cols, lns] = cells();
    if (asked !== cols + 'x' + lns) { asked = cols + 'x' + lns; message(4, 4, v => { v.setUint16(1, cols); v.setUint16(3, lns); }); }
    if (body.classList.contains('tall')) showWords(rows());
    showKeys();
    report();
  }, 120);
}
addEventListener('resize', resized);
for (const e of ['visibilitychange', 'online', 'pageshow', 'focus']) (e === 'visibilitychange' ? document : window).addEventListener(e, () => { if (!document.hidden) { alive(); report(); } });

const is = q => matchMedia(q).matches;
function shown() {
  const filtered = [document.documentElement, body, canvas].some(e => getComputedStyle(e).filter !== 'none');
  // Automatic darkening shows on an element that asks for a light ground.
  const probe = document.createElement('div');
  probe.style.cssText = 'position:absolute;visibility:hidden;background-color:canvas;color-scheme:light;forced-color-adjust:none';
  body.append(probe);
  const darkened = !is('(forced-colors: active)') && getComputedStyle(probe).backgroundColor !== 'rgb(255, 255, 255)';
  probe.remove();
  return {gamut: is('(color-gamut: rec2020)') ? 'rec2020' : is('(color-gamut: p3)') ? 'p3' : is('(color-gamut: srgb)') ? 'srgb' : 'less',
    range: is('(dynamic-range: high)') ? 'high' : 'standard', read_back: readBack(), forced: is('(forced-colors: active)'), darkened,
    inverted: is('(inverted-colors: inverted)'), filtered, pixel_ratio: Math.round((devicePixelRatio || 1) * 1000) / 1000,
    zoomed: !!window.visualViewport && visualViewport.scale > 1.01, cell_width: Math.min(1000, cw), cell_height: Math.min(1000, ch), touch: is('(pointer: coarse)')};
}

// readBack draws tooth colours and steps of one code on a surface like the
// picture's and reads them back.
function readBack() {
  const c = document.createElement('canvas'), want = [[200, 184, 152], [203, 187, 155], [216, 201, 163], [217, 201, 163], [120, 96, 71], [255, 255, 255]];
  c.width = want.length * 4; c.height = 4;
  try {
    const d = c.getContext('2d', exact);
    want.forEach(([r, g, b], i) => { d.fillStyle = hex(r << 16 | g << 8 | b); d.fillRect(i * 4, 0, 4, 4); });
    const got = d.getImageData(0, 0, c.width, 4, {colorSpace: 'srgb'}).data;
    return want.every((p, i) => p.every((v, k) => got[(i * 4 + 1 + c.width) * 4 + k] === v)) ? 'exact' : 'differs';
  } catch { return 'unreadable'; }
}

function report() {
  const s = JSON.stringify(shown());
  if (s === told || !socket || socket.readyState !== 1) return;
  told = s;
  const b = new TextEncoder().encode(s);
  message(8, b.length, v => new Uint8Array(v.buffer).set(b, 1));
}

function about() {
  const s = shown(), facts = [
    'Colours that the screen covers: ' + {less: 'less than sRGB', srgb: 'sRGB', p3: 'more than sRGB (P3)', rec2020: 'more than sRGB (Rec. 2020)'}[s.gamut],
    'Bytes drawn and read back: ' + {exact: 'the same', differs: 'not the same', unreadable: 'the browser does not allow to read them'}[s.read_back],
    `Device pixels for one of the page: ${s.pixel_ratio}; a character is ${cw} × ${ch} device pixels`,
    `${w} × ${h} characters`];
  const doubts = [[s.read_back === 'differs', 'The browser gave back other colours than were drawn: a privacy setting adds noise to what is read, or something alters the page.'],
    [s.gamut === 'less', 'The screen is said to cover less than sRGB.'],
    [s.gamut === 'p3' || s.gamut === 'rec2020', 'The screen shows more colours than sRGB: where the system converts colours, that costs 0.3 ΔE00 as a rule; where it does not, patches look more chromatic than they are.'],
    [s.range === 'high', 'The screen is in a high dynamic range.'], [s.forced, 'The system forces its own colours on pages.'], [s.darkened, 'The browser darkens pages by itself: switch that off here.'],
    [s.inverted, 'Colours are inverted: switch that off to practise.'], [s.filtered, 'A filter lies on the page (an extension or a reading mode): switch it off here.'], [s.zoomed, 'The page is enlarged, so that edges are blurred.']];
  $('facts').replaceChildren(...facts.map(f => { const l = document.createElement('li'); l.textContent = f; return l; }));
  $('doubts').textContent = doubts.filter(d => d[0]).map(d => d[1]).join(' ');
}
for (const q of ['(color-gamut: p3)', '(dynamic-range: high)', '(forced-colors: active)', '(inverted-colors: inverted)']) matchMedia(q).addEventListener('change', report);
// Another pixel ratio means another screen, or another zoom.
(function ratio() { matchMedia(`(resolution: ${devicePixelRatio}dppx)`).addEventListener('change', () => { resized(); ratio(); }, {once: true}); })();

roomFor();
canvas.focus();
connect();
}
