"use strict";
// The only script. Every page is whole without it; it adds the live verdict, takes
// scans wherever the focus is, keeps what is typed as it is typed, and has a keypad
// for gloves.

const GAP = 50;      // ms between keys: a scanner types faster, no hand does
const TWICE = 2000;  // ms in which the same code counts once
const $ = (q, at = document) => at.querySelector(q);
const form = $("#form");

// The clock goes on from the time that the page came with.
const clock = $("#clock"), came = Date.now();
if (clock) {
  const [h, m] = clock.textContent.split(":").map(Number);
  setInterval(() => {
    const t = (h * 60 + m + Math.floor((Date.now() - came) / 60000)) % 1440;
    clock.textContent = String(Math.floor(t / 60)).padStart(2, "0") + ":" + String(t % 60).padStart(2, "0");
  }, 5000);
}

// ---- The live verdict: one request at a time, the newest state last.
let busy = false, again = false, timer = 0, dirty = false, down = false;

function changed() {
  dirty = true;
  clearTimeout(timer);
  timer = setTimeout(judge, 200);
}

async function judge() {
  if (busy) { again = true; return; }
  busy = true;
  dirty = false;
  const late = setTimeout(() => stale("Being judged again: this card is the one before."), 600);
  try {
    const res = await fetch("/assess/live", { method: "POST", body: new URLSearchParams(new FormData(form)) });
    if (!res.ok) throw new Error(res.status);
    show(await res.text());
    down = false;
  } catch {
    dirty = down = true;
    stale("The program does not answer. This card is OLD: go by the worst that you see. EMERGENCY works all the same. What you typed stands on this page only.");
    const bar = $("#mini"); // on a small screen all that is in sight of the card
    bar.className = "banner c-none";
    bar.textContent = "OLD: no answer";
    hear("The program does not answer. The card is OLD.");
    timer = setTimeout(judge, 3000);
  } finally {
    clearTimeout(late);
    busy = false;
    if (again) { again = false; judge(); }
  }
}

function stale(text) {
  const v = $("#verdict");
  v.dataset.stale = text;
}

function show(html) {
  const t = document.createElement("template");
  t.innerHTML = html;
  const v = $("#verdict"), n = $("#verdict", t.content);
  form.draft.value = n.dataset.draft;
  form.rev.value = n.dataset.rev;
  delete v.dataset.stale;
  if (v.innerHTML !== n.innerHTML) {
    const open = [...v.querySelectorAll("details")].map((d) => d.open);
    v.replaceChildren(...n.childNodes);
    v.querySelectorAll("details").forEach((d, i) => { d.open = open[i]; });
  }
  $("#command").textContent = $("#command", t.content).textContent;
  $("#faults").replaceChildren(...$("#faults", t.content).childNodes);
  const part = $("#part"), newer = $("#part", t.content);
  if (part.innerHTML !== newer.innerHTML) part.replaceChildren(...newer.childNodes);
  for (const e of document.querySelectorAll(".err")) {
    const from = $(`[data-for="${e.id.slice(2)}"]`, t.content), says = e.hasAttribute("data-says") && $("[data-says]", t.content);
    e.textContent = [from && from.textContent, says && says.textContent].filter(Boolean).join(" ");
    const field = $("#f-" + e.id.slice(2));
    if (field) field.setAttribute("aria-invalid", from ? "true" : "false");
  }
  mini();
  hear(heard());
}

// What is heard of a card that changed: the class and the first things to do. A screen
// reader would read the whole card at every key.
function hear(text) {
  const h = $("#heard");
  if (h.textContent !== text) h.textContent = text;
}

function heard() {
  return [...document.querySelectorAll("#verdict .verb, #verdict .unless, #verdict .do li:first-child")]
    .map((e) => e.textContent.trim().replace(/\.?$/, ".")).join(" ");
}

// On a small screen the class stays in sight, beside RECORD.
function mini() {
  const b = $("#verdict .banner"), bar = $("#mini");
  bar.className = b.className;
  bar.textContent = $(".verb", b).textContent;
  placePad();
}

function setUpForm() {
  const sure = document.createElement("input");
  sure.type = "hidden"; sure.name = "sure"; sure.value = "yes";
  form.append(sure);
  $("#judge").hidden = true;
  form.addEventListener("input", changed);
  form.addEventListener("click", (e) => {
    const b = e.target.closest("button[name=set]");
    if (!b) return;
    e.preventDefault();
    const [name, code] = b.value.split("=");
    const f = $("#f-" + name);
    // The same reason again takes it back, and brings back what stood there.
    if (f.value === code) { f.value = f.dataset.was || ""; } else { f.dataset.was = f.value; f.value = code; }
    f.dispatchEvent(new Event("input", { bubbles: true }));
  });
  form.addEventListener("keydown", (e) => {
    if (e.key !== "Enter" || e.defaultPrevented || !e.target.matches("input:not([type=hidden])")) return;
    e.preventDefault(); // Enter goes on; it sends nothing
    const list = [...form.querySelectorAll("input:not([type=hidden]), select, #record")].filter((x) => x.offsetParent);
    const next = list.slice(list.indexOf(e.target) + 1).find((x) => x.id === "record" || x.type === "checkbox" || x.type === "radio" || !x.value);
    if (next) next.focus();
  });
  // A form is sent with the number of its newest draft.
  form.addEventListener("submit", (e) => {
    clearTimeout(timer);
    if (down) { e.preventDefault(); judge(); return; } // the page is all that has it
    if (!busy) { dirty = false; return; }
    e.preventDefault();
    const by = e.submitter;
    const wait = setInterval(() => { if (!busy) { clearInterval(wait); form.requestSubmit(by); } }, 30);
  });
  addEventListener("pagehide", () => {
    if (dirty) navigator.sendBeacon("/assess/live", new URLSearchParams(new FormData(form)));
  });
}

// A page that the browser kept shows what was: it comes anew.
addEventListener("pageshow", (e) => { if (e.persisted) location.reload(); });

// What stands of the log on a page does not follow it, and the clock above goes on: the
// page says how old it is; not while hands are on it, which would move under them.
const OLD = 5 * 60000, STILL = 10000; // ms, common practice
const asOf = $("[data-as-of]");
let touched = 0;
if (asOf) {
  for (const type of ["pointerdown", "keydown", "scroll"]) addEventListener(type, () => { touched = Date.now(); }, { capture: true, passive: true });
  setInterval(() => { if (Date.now() - came >= OLD && Date.now() - touched >= STILL) asOf.hidden = false; }, 5000);
}

// ---- What is typed into any other form with a number is kept as its draft.
const late = new Map(); // forms that are not kept yet
const lost = new Set(); // forms that could not be kept: the page is all that has them

function draftOf(f) {
  const body = new URLSearchParams();
  for (const [name, value] of new FormData(f)) if (typeof value === "string") body.append(name, value);
  body.set("action", f.getAttribute("action"));
  return body;
}

function keep(f, wait) {
  clearTimeout(late.get(f));
  const id = setTimeout(async () => {
    try {
      const res = await fetch("/draft", { method: "POST", body: draftOf(f) });
      if (res.status >= 500) throw res;
      if (late.get(f) === id) late.delete(f);
      lost.delete(f);
      const p = $(".unkept", f);
      if (p) p.remove();
    } catch {
      lost.add(f);
      if (late.get(f) === id) keep(f, 3000);
    }
  }, wait);
  late.set(f, id);
}

document.addEventListener("input", (e) => {
  const f = e.target.form;
  if (f && f !== form && f.method === "post" && f.elements.form && !$("[data-scan-send]", f)) keep(f, 300);
});
document.addEventListener("submit", (e) => {
  if (!lost.has(e.target)) return;
  e.preventDefault(); // going on to no answer would lose it; pressed again it is sent
  if (!$(".unkept", e.target)) {
    const p = document.createElement("p");
    p.className = "fault unkept";
    p.setAttribute("role", "alert");
    p.textContent = "Not sent: the program does not answer. What you typed stands on this page only. EMERGENCY works all the same.";
    e.submitter ? e.submitter.before(p) : e.target.append(p);
  }
  keep(e.target, 0);
}, true);
document.addEventListener("submit", (e) => { if (e.defaultPrevented) return; clearTimeout(late.get(e.target)); late.delete(e.target); });
addEventListener("pagehide", () => { for (const f of late.keys()) navigator.sendBeacon("/draft", draftOf(f)); });

// ---- Scanners. A code is a burst of keys that ends in Enter or Tab.
let burst = { text: "", at: 0 }, last = { text: "", at: -TWICE }, ended = -TWICE;

document.addEventListener("keydown", (e) => {
  if (e.isComposing || e.ctrlKey || e.altKey || e.metaKey) { burst = { text: "", at: 0 }; return; }
  const now = e.timeStamp;
  if (e.key.length === 1) {
    if (now - burst.at > GAP) burst = { text: "", el: e.target, before: e.target.value };
    burst.text += e.key;
    burst.at = now;
    return;
  }
  if (e.key !== "Enter" && e.key !== "Tab") return;
  if (burst.text.length >= 4 && now - burst.at <= GAP) {
    e.preventDefault();
    e.stopPropagation();
    ended = now;
    scanned(burst, now);
    burst = { text: "", at: 0 };
  } else if (now - ended < 300) {
    e.preventDefault(); // the second half of the scanner's line end
    e.stopPropagation();
  }
}, true);

function scanned(b, now) {
  const text = b.text.trim(), field = $("[data-scan]"), free = b.el.matches("#f-part, #f-ticket, #f-device, #f-note");
  if (b.el.matches("[data-scan-here]")) { put(b.el, text); return; }
  const isTag = /^[^\s-]{4,6}$/.test(text.replace(/[ -]/g, ""));
  if (!isTag && free) return; // it stays in the field that takes any text
  if ("value" in b.el && b.before !== undefined) b.el.value = b.before;
  if (text === last.text && now - last.at < TWICE) return;
  last = { text, at: now };
  const go = $("[data-scan-go]");
  if (!field) {
    if (go && isTag) location.href = go.dataset.scanGo + encodeURIComponent(text);
    return;
  }
  // The one field where a scan is what is done, unless the package is being closed.
  if (field.hasAttribute("data-scan-send") && !$("#close[open]")) {
    field.value = text;
    field.form.requestSubmit();
    return;
  }
  const has = field.value.trim();
  if (!isTag) offer(`Scanned ${text}: no tag.`, "Put it into part number", () => put($("#f-part"), text));
  else if (!has && $("[data-restored]")) offer(`Scanned ${text}. What stands here was typed before.`, `It is of ${text}`, () => put(field, text), "/assess?tag=" + encodeURIComponent(text));
  else if (has && fold(has) !== fold(text)) offer(`Scanned ${text}, but this is the form of ${has}.`, `Make it ${text}`, () => put(field, text));
  else put(field, text);
}

const fold = (s) => s.replace(/[ -]/g, "").toUpperCase();

function put(field, text) {
  if (!field) return;
  field.value = text;
  field.dispatchEvent(new Event("input", { bubbles: true }));
  const said = $("#scan-says");
  if (said) said.remove();
}

// offer says what was scanned and leaves it to a person what becomes of it.
function offer(text, words, fn, elsewhere) {
  let p = $("#scan-says");
  if (!p) { p = document.createElement("p"); p.id = "scan-says"; p.className = "notice"; p.setAttribute("role", "status"); $("[data-scan]").after(p); }
  const b = document.createElement("button");
  b.type = "button"; b.textContent = words; b.onclick = fn;
  p.replaceChildren(text + " ", b);
  if (!elsewhere) return;
  const a = document.createElement("a");
  a.className = "button"; a.href = elsewhere; a.textContent = "Begin an empty form for it";
  p.append(" ", a);
}

// ---- The emergency card: Escape puts it away.
document.addEventListener("keydown", (e) => {
  const card = $("#emergency");
  if (e.key === "Escape" && card.open) { card.open = false; $("summary", card).focus(); }
});

// ---- A row of buttons is one tab stop; the arrows go along it.
function rove(row) {
  const list = [...row.querySelectorAll("button")], columns = Number(row.dataset.rove);
  const stop = (to) => list.forEach((b) => { b.tabIndex = b === to ? 0 : -1; });
  stop(list[0]);
  row.addEventListener("keydown", (e) => {
    const step = { ArrowRight: 1, ArrowLeft: -1, ArrowDown: columns, ArrowUp: -columns }[e.key];
    if (!step) return;
    e.preventDefault();
    const to = list[Math.min(Math.max(list.indexOf(e.target) + step, 0), list.length - 1)];
    stop(to);
    to.focus();
  });
}

// reason marks the reason that a field has.
const reasons = (f) => [...f.parentNode.querySelectorAll("button[name=set]")];
const isReason = (f, b) => b.value === f.name + "=" + f.value;
function reason(f) {
  for (const b of reasons(f)) b.setAttribute("aria-pressed", isReason(f, b));
}

// ---- The keypad. It types into the field as keys would and leaves the focus there.
// A touch on a field of numbers opens it, or the button Keypad; it stands below, at
// the end of its form, and takes no room before it is opened.
const KEYS = [["7"], ["8"], ["9"], ["\u232b", "Delete"], ["4"], ["5"], ["6"], ["\u2212", "Minus"],
  ["1"], ["2"], ["3"], ["Next", "Next field"], ["0"], [".", "Decimal point"], ["Done", "Done with the keypad"]];
const AWAY = "keypad-away"; // remembered by the browser until somebody presses Keypad
let pad, at, pressed = "";

function makePad() {
  pad = document.createElement("div");
  pad.id = "pad";
  pad.setAttribute("role", "group");
  pad.innerHTML = '<p></p><button type="button" data-key="away">Put away</button><div class="keys" data-rove="4">' +
    KEYS.map(([key, name]) => `<button type="button" data-key="${key}" aria-label="${name || key}">${key}</button>`).join("") + "</div>";
  rove($(".keys", pad));
  pad.addEventListener("mousedown", (e) => e.preventDefault()); // the focus stays where it is
  pad.addEventListener("click", (e) => { const b = e.target.closest("button"); if (b) key(b.dataset.key); });
}

function openPad(field) {
  if (!pad) makePad();
  const home = field.closest(".sheet") || field.form;
  if (pad.parentNode !== home) home.append(pad);
  at = field;
  at.inputMode = "none"; // no second keyboard over the page
  const what = $(`label[for="${at.id}"]`).textContent.replace(/\s+/g, " ").trim();
  $("p", pad).textContent = what;
  pad.setAttribute("aria-label", "Keypad for " + what);
  pad.hidden = false;
  if (document.activeElement !== at) at.focus({ preventScroll: true });
  if (reasons(at).some((b) => isReason(at, b))) at.select(); // a number takes the place of a reason
  placePad();
  at.scrollIntoView({ block: "nearest" });
}

// placePad has the keypad stand above RECORD where that is fixed. Where it grows over
// its field the page moves on; a page that somebody scrolled elsewhere stays there.
function placePad() {
  if (!at) return;
  const bar = $(".record"), fixed = bar && getComputedStyle(bar).position === "fixed";
  pad.style.bottom = (fixed ? bar.offsetHeight : 0) + 8 + "px";
  document.documentElement.style.scrollPaddingBottom = pad.offsetHeight + parseFloat(pad.style.bottom) + 12 + "px";
  const f = at.getBoundingClientRect(), p = pad.getBoundingClientRect();
  if (f.bottom > p.top && f.top < p.bottom) at.scrollIntoView({ block: "nearest" });
}

function shutPad() {
  if (!at) return;
  if (pad.contains(document.activeElement)) at.focus({ preventScroll: true });
  at = null;
  pad.hidden = true;
  document.documentElement.style.scrollPaddingBottom = "";
}

function key(k) {
  const f = at;
  let [from, to] = [f.selectionStart, f.selectionEnd];
  if (k === "Next") {
    const list = [...document.querySelectorAll("[data-number]")].filter((x) => x.form === f.form && x.offsetParent);
    const next = list[list.indexOf(f) + 1];
    if (next) openPad(next); else shutPad();
    return;
  }
  if (k === "Done") { shutPad(); return; }
  if (k === "away") {
    localStorage.setItem(AWAY, "yes");
    for (const x of document.querySelectorAll("[data-number]")) x.inputMode = "decimal";
    shutPad();
    return;
  }
  if (k === "\u232b") f.setRangeText("", from === to ? Math.max(from - 1, 0) : from, to, "end");
  else if (k === "\u2212") f.value = f.value.startsWith("-") ? f.value.slice(1) : "-" + (to - from === f.value.length ? "" : f.value);
  else if (f.value.length - (to - from) < f.maxLength) f.setRangeText(k, from, to, "end");
  f.dispatchEvent(new InputEvent("input", { bubbles: true }));
}

document.addEventListener("pointerdown", (e) => {
  pressed = e.pointerType || "mouse";
  const f = e.target.closest("[data-number]");
  if (f && pressed !== "mouse" && !localStorage.getItem(AWAY)) f.inputMode = "none"; // before the focus comes
}, true);

document.addEventListener("click", (e) => {
  const by = pressed, field = e.target.closest("[data-number]"), button = e.target.closest("[data-pad]");
  pressed = "";
  if (button) {
    localStorage.removeItem(AWAY);
    const list = [...button.closest(".group, form").querySelectorAll("[data-number]")].filter((x) => x.offsetParent);
    if (list.length) openPad(list.find((x) => x === at) || list.find((x) => !x.value) || list[0]);
  } else if (field) {
    if (at || by && by !== "mouse" && !localStorage.getItem(AWAY)) openPad(field);
  } else if (at && !e.target.closest("#pad")) {
    shutPad(); // only now: what was pressed must not move away under the finger
  }
});

document.addEventListener("focusin", (e) => {
  if (!at || pressed || e.target === at || pad.contains(e.target)) return;
  if (e.target.matches("[data-number]")) openPad(e.target); else shutPad();
});

for (const f of document.querySelectorAll("input[inputmode=decimal]")) {
  f.dataset.number = "";
  f.addEventListener("input", () => reason(f));
  reason(f);
}
document.querySelectorAll("[data-rove]").forEach(rove);
addEventListener("resize", placePad);

if (form) setUpForm();
