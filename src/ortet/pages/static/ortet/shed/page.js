// The page for the shed: scan, see the name large, do one of a few acts. Everything is saved on the phone first, then sent.
import {ACTS, NOUNS, nameOf} from "./acts.js";
import {Book, called, whereWords} from "./book.js";
import {readLabel, showCode, uuid7} from "./codes.js";
import {el, fieldOf, fill, showWrong, valuesOf} from "./dom.js";
import {canScanLive, readPhoto, scanLive} from "./reading.js";
import {askBook, heldBehind, send} from "./sending.js";
import {askToStay, forgetBook, keepBook, keepRecord, keptBook, keptRecords, openStore, tidy} from "./store.js";
import {locale, say} from "./words.js";

const page = document.getElementById("shed"), spoken = document.getElementById("spoken"), bar = document.getElementById("bar");
const {records: RECORDS, asks: BOOK, worker: WORKER, signIn: SIGN_IN, pair: PAIR} = page.dataset;
const AGAIN = 30000; // ms after which what waits is tried once more
const MINUTE = 60000;

let snapshot = null, book = null, records = [], which = localStorage.getItem("ortet-shed-book") || page.dataset.book;
let stopCamera = null, hasScanned = false, signal = "", said = "", saidAt = "";

// Say what was done, on the page that follows it and on no other.
function tell(words, hash) {
  [said, saidAt] = [words, hash];
  location.replace(hash);
}

const mayWrite = () => Boolean(snapshot?.may_write);
const waiting = () => records.filter(record => record.state === "waiting");
const refused = () => records.filter(record => record.state === "refused");
const rebuild = () => {
  book = snapshot ? new Book(snapshot, records) : null;
  document.getElementById("nursery").textContent = snapshot ? snapshot.nursery : "Ortet";
};

// The phone's clock; the desk's where the phone's is more than two minutes off. Where a demo's stands still, the minutes since.
function now() {
  if (snapshot?.still) return new Date(Date.parse(snapshot.now) + Math.min(9 * MINUTE, performance.now()));
  return new Date(Date.now() + (Math.abs(snapshot?.clock || 0) > 2 * MINUTE ? snapshot.clock : 0));
}
const told = at => new Date(at).toLocaleString(locale, {day: "numeric", month: "short", hour: "2-digit", minute: "2-digit", timeZone: snapshot?.zone});

// Asking and sending ------------------------------------------------------------------------------------

async function refresh() {
  const got = Date.now(), answer = await askBook(BOOK);
  if (answer.is === "ok") {
    if (answer.said.book !== which) await turnTo(answer.said.book);
    snapshot = {...answer.said, got, clock: Date.parse(answer.said.now) - Date.now()};
    await keepBook(snapshot);
    rebuild();
  }
  if (answer.is === "signed-out" && snapshot?.paired) answer.is = "forbidden"; // its cookie was taken back
  if (answer.is === "forbidden") { // shut out: what the phone was told is not for whoever holds it now
    snapshot = null;
    rebuild();
    await forgetBook();
  }
  return answer;
}

async function turnTo(other) {
  which = other;
  localStorage.setItem("ortet-shed-book", which);
  await openStore(which);
  records = await keptRecords();
}

let syncing = null, isAskedAgain = false;
// One at a time; asked for meanwhile, once more after it.
function sync() {
  if (syncing) { isAskedAgain = true; return; }
  syncing = syncAll().finally(() => {
    syncing = null;
    if (isAskedAgain) { isAskedAgain = false; sync(); }
  });
}

async function syncAll() {
  let answer = await refresh();
  if (answer.is === "ok" && mayWrite() && waiting().length) {
    const before = records.filter(record => record.state === "booked").length;
    answer = await send({address: RECORDS, book: which, records: () => records, told: () => { rebuild(); showBar(); if (location.hash === "#list") show({again: true}); }});
    if (records.filter(record => record.state === "booked").length > before) await refresh();
    await tidy(records);
  }
  signal = answer.is;
  if (answer.is === "forbidden" && snapshot && mayWrite()) signal = "failing";
  showBar();
  if (!location.hash.startsWith("#do/") && !location.hash.startsWith("#mend/")) show({again: true});
}

async function save(record) {
  record.number = await keepRecord(record);
  records.push(record);
  rebuild();
  if (navigator.onLine) sync();
}

// What stands on the screen ------------------------------------------------------------------------------

function showBar() {
  const mend = refused().length, wait = waiting().length;
  const words = mend ? say("{count} to mend", {count: mend}) : wait ? say("{count} to send", {count: wait}) : say("All sent");
  fill(bar,
    el("a", {class: "bar-scan", href: "#"}, say("Scan")),
    el("a", {class: mend ? "bar-list is-refused" : wait ? "bar-list is-waiting" : "bar-list", href: "#list"}, el("span", {}, words), mend && wait ? [el("span", {class: "unseen"}, ", "), el("span", {class: "small"}, say("{count} to send", {count: wait}))] : null));
  const kept = wait + mend ? " " + say("What was saved stays on this phone: {count}.", {count: wait + mend}) : "";
  const words_of = {
    "away": wait ? say("No signal. What was saved goes out by itself once there is one.") : say("No signal."),
    "signed-out": say("Nobody is signed in here.") + kept,
    "forbidden": say("This phone was shut out.") + kept,
    "failing": say("The desk could not take it. It is tried again.") + kept,
  };
  const text = words_of[signal] || "";
  fill(spoken, said ? el("span", {class: "done"}, said) : null, text ? el("span", {}, `${said ? " " : ""}${text}`) : null,
    signal === "signed-out" ? el("a", {href: SIGN_IN}, say("Sign in")) : null, signal === "forbidden" ? el("a", {href: PAIR}, say("Pair it again")) : null);
  spoken.hidden = !spoken.childElementCount;
}

function show({again = false} = {}) {
  if (again && stopCamera) return; // a look through the camera goes on
  stopCamera?.();
  stopCamera = null;
  const [what, one = "", other = "", third = ""] = location.hash.slice(1).split("/").map(decodeURIComponent);
  if (!snapshot) showNothing();
  else if (what === "at") showThing(subjectOf(one, other));
  else if (what === "do" && mayWrite()) showAct(one, subjectOf(other, third));
  else if (what === "mend" && mayWrite()) showMend(Number(one));
  else if (what === "list") showList();
  else showScan();
  showBar();
  if (!again) { scrollTo(0, 0); page.querySelector("h1")?.focus({preventScroll: true}); }
}

const subjectOf = (lot, place) => ({lot: lot && lot !== "-" ? book.lot(lot) : null, place: place && place !== "-" ? book.place(place) : null});
const at = ({lot, place}) => `#at/${lot ? lot.code : "-"}/${place ? place.code : "-"}`;
const heading = (...words) => el("h1", {tabindex: "-1"}, ...words);

function showNothing() {
  fill(page, heading(say("The shed")), signal === "away" || !signal
    ? el("p", {class: "nothing"}, say("This phone does not know the book yet. Open this page once where there is a signal."))
    : el("p", {class: "nothing"}, say("The book is not open to this phone.")),
  el("p", {class: "acts"}, el("button", {class: "quiet", type: "button", onclick: () => sync()}, say("Try again"))));
}

// Scan

function lead(found, wrong) {
  const thing = book.find(found);
  if (thing.why) { wrong(thing.why); return; }
  hasScanned = true;
  said = "";
  navigator.vibrate?.(60);
  const there = book.holdings(thing);
  location.hash = at(thing.lot && there.length === 1 ? {lot: thing.lot, place: there[0].place} : thing.place && there.length === 1 && ["bag", "batch"].includes(thing.place.kind) ? {lot: there[0].lot, place: thing.place} : thing);
}

function showScan() {
  const wrong = el("p", {class: "refusal", role: "alert", hidden: true});
  const refuse = words => { wrong.textContent = words; wrong.hidden = false; };
  const names = el("datalist", {id: "names"}, book.names().map(name => el("option", {value: name})));
  const text = el("input", {id: "typed", type: "text", class: "typed-code", autocomplete: "off", autocapitalize: "characters", spellcheck: "false", list: "names"});
  const typing = el("form", {class: "form", onsubmit: event => { event.preventDefault(); lead({text: text.value.trim()}, refuse); }},
    el("div", {class: "field"}, el("label", {for: "typed"}, say("Code, mark or name")), text, names), el("p", {class: "acts"}, el("button", {class: "quiet big"}, say("Look it up"))));
  const file = el("input", {id: "code-photo", type: "file", accept: "image/*", capture: "environment", class: "unseen", onchange: async () => {
    if (!file.files[0]) return;
    wrong.hidden = true;
    try {
      const found = await readPhoto(file.files[0]);
      if (found) lead(readLabel(found), refuse);
      else refuse(say("No code was found in the photo. Hold the label flat, closer, in more light; or type its code."));
    } catch (error) { refuse(error.message); }
    file.value = "";
  }});
  const photographing = el("p", {class: "acts"}, el("label", {for: "code-photo", class: canScanLive() ? "quiet big" : "act big"}, say("Photograph the code")), file);
  const eye = el("div", {class: "eye"});
  fill(page, heading(say("Scan a label")), wrong, eye, photographing, typing,
    mayWrite() ? null : el("p", {class: "caution"}, say("{hand} may read this book, not write in it: labels can be looked up here, nothing can be recorded.", snapshot)));
  if (!canScanLive()) {
    eye.append(el("p", {class: "small quieter"}, say("Over plain http a browser gives no live camera. A photo of the code does as well.")));
    return;
  }
  const look = async () => {
    const video = el("video", {muted: true, playsInline: true, "aria-label": say("What the camera sees")});
    eye.replaceChildren(video, el("span", {class: "frame", "aria-hidden": "true"}));
    let isHere = true;
    stopCamera = () => { isHere = false; };
    try {
      const stop = await scanLive(video, found => { stopCamera = null; lead(readLabel(found), words => { refuse(words); offer(); }); }, error => { stopCamera = null; refuse(error.message); offer(); });
      if (isHere) stopCamera = stop; else stop();
    } catch {
      stopCamera = null;
      refuse(say("The camera cannot be used: allow it for this page in the browser, or photograph the code, or type it."));
      offer();
    }
  };
  const offer = () => eye.replaceChildren(el("button", {class: "act big", type: "button", onclick: look}, say("Scan with the camera")));
  if (hasScanned) look(); else offer();
}

// A lot, a bag, a batch, a place

function showThing(subject) {
  const {lot, place} = subject;
  if (!lot && !place) { location.hash = ""; return; }
  const name = lot ? lot.variety : place.name;
  const facts = lot ? [showCode(lot.code), lot.mark, lot.species, lot.grade] : [showCode(place.code)];
  const there = book.holdings(lot ? {lot} : {place}), count = lot && place ? book.count(lot, place) : 0;
  const stands = place?.stands ? book.place(place.stands) : null;
  const standing = place && !lot ? book.standingIn(place) : [];
  const rows = there.filter(one => !(lot && place && one.place.code === place.code)).map(one => el("li", {},
    el("a", {href: at(one)}, lot ? whereWords(one.place) : `${one.lot.variety} ${called(one.lot)}`), el("strong", {}, String(one.count))));
  const acts = Object.entries(ACTS).filter(([, act]) => act.can(subject));
  const word = lot?.isNew ? say("This phone knows no lot with this code. It may be newer than its copy of the book: what is recorded waits for the desk to know it.") : "";
  fill(page, 
    heading(el("span", {class: "large"}, name)),
    el("p", {class: "facts"}, facts.filter(Boolean).join(" · ")),
    place && lot ? el("p", {class: "where"}, el("strong", {}, String(count)), ` ${whereWords(place)}`, stands ? ", " + say("in {place}", {place: stands.name}) : "") : null,
    place && !lot && stands ? el("p", {class: "where"}, place.kind === "batch" ? say("on {place}", {place: stands.name}) : say("in {place}", {place: stands.name})) : null,
    word ? el("p", {class: "caution"}, word) : null,
    mayWrite() ? el("div", {class: "grid"}, acts.map(([key, act]) => el("a", {class: "quiet big", href: `#do/${key}/${lot ? lot.code : "-"}/${place ? place.code : "-"}`}, act.button(subject))))
      : el("p", {class: "caution"}, say("{hand} may read this book, not write in it.", snapshot)),
    rows.length ? el("h2", {}, lot ? (place ? say("It lies elsewhere too") : say("Where it lies")) : say("What lies here")) : null,
    rows.length ? el("ul", {class: "tally"}, rows) : null,
    standing.length ? el("h2", {}, say("What stands here")) : null,
    standing.length ? el("ul", {class: "tally"}, standing.map(one => el("li", {}, el("a", {href: at(withItsLot(one))}, one.name), el("span", {}, book.holdings({place: one}).map(held => `${held.count} ${held.lot.variety}`).join(", "))))) : null,
    lot && !there.length && !lot.isNew ? el("p", {class: "nothing"}, say("Nothing of this lot is on hand, as far as this phone knows.")) : null,
    el("p", {class: "small quieter"}, say("As the book was at {at}, and what was saved here since.", {at: told(snapshot.now)})));
}

function withItsLot(place) {
  const there = book.holdings({place});
  return there.length === 1 ? {lot: there[0].lot, place} : {place};
}

// An act

function formOf(key, subject, values, {save: word, done, first = null, more = []}) {
  const act = ACTS[key], fields = [...act.asks(subject, book), ...more];
  let isSure = false;
  const asked = el("p", {class: "caution", role: "alert", hidden: true});
  const button = el("button", {class: "act big"}, word || act.save);
  const form = el("form", {class: "form", onsubmit: async event => {
    event.preventDefault();
    valuesOf(form, fields, values);
    const made = act.makes(values, subject, book, isSure);
    showWrong(form, made.wrong || {});
    if (made.wrong) return;
    if (made.ask) { asked.textContent = made.ask; asked.hidden = false; isSure = true; return; }
    button.disabled = true;
    try { await done(made, values); } catch (error) {
      button.disabled = false;
      showWrong(form, {save: say("It could not be saved on this phone: {why}. Write it down.", {why: error.message})});
    }
  }}, first, fields.map(field => fieldOf(field, values)), asked, el("p", {class: "acts"}, button));
  return form;
}

function cautionsOf(act) {
  const words = act.cautions?.(book) || [];
  return words.length ? el("div", {class: "caution"}, el("ul", {}, words.map(one => el("li", {}, one)))) : null;
}

function showAct(key, subject) {
  const act = ACTS[key];
  if (!act || !act.can(subject)) { location.hash = ""; return; }
  const opened = now();
  fill(page, heading(act.title(subject)), cautionsOf(act), formOf(key, subject, {}, {done: async (made, values) => {
    const {picture, ...given} = values;
    const at_time = key === "photo" ? opened : now();
    const record = {id: uuid7(), act: key, at: at_time.toISOString(), by: snapshot.hand, lot: subject.lot?.code || "", place: subject.place?.code || "",
      given, state: "waiting", says: "", ...made};
    await save(record);
    tell(say("Saved: {words}.", record), at(subject));
  }}), el("p", {}, el("a", {class: "wide-link", href: at(subject)}, say("Not now"))));
}

// What was saved

function showList() {
  const held = heldBehind(records), newest = [...records].reverse();
  const line = (record, ...more) => el("li", {}, el("strong", {}, `${NOUNS[record.act]}: `), record.words, el("span", {class: "small quieter"}, ` ${told(record.at)}`), ...more);
  const part = (title, rows) => rows.length ? [el("h2", {}, title), el("ul", {class: "saved"}, rows)] : [];
  const mend = refused(), wait = waiting(), aside = newest.filter(record => record.state === "aside");
  const booked = newest.filter(record => record.state === "booked").slice(0, 20);
  fill(page, heading(say("What was recorded here")),
    wait.length && mayWrite() ? el("p", {class: "acts"}, el("button", {class: "act big", type: "button", onclick: () => sync()}, say("Send now"))) : null,
    ...part(say("To mend"), mend.map(record => line(record, el("p", {class: "refusal"}, record.says), mayWrite() ? el("p", {class: "acts"}, el("a", {class: "act", href: `#mend/${record.number}`}, say("Mend"))) : null))),
    ...part(say("To send"), wait.map(record => line(record, held.has(record.number)
      ? el("p", {class: "small"}, say("Waits: “{first}” comes first and is to be mended.", {first: held.get(record.number).words})) : null,
    mayWrite() ? el("p", {class: "acts"}, el("a", {class: "quiet", href: `#mend/${record.number}`}, say("Change"))) : null))),
    ...part(say("Put aside"), aside.map(record => line(record, el("p", {class: "small"}, `${record.reason} ${record.says}`), el("p", {class: "acts"}, el("button", {class: "quiet", type: "button", onclick: async () => {
      await keepRecord(Object.assign(record, {state: "waiting", says: ""}));
      rebuild(); sync(); show();
    }}, say("Bring back")))))),
    ...part(say("Booked lately"), booked.map(record => line(record, record.says ? el("p", {class: "small"}, record.says) : null))),
    records.length ? null : el("p", {class: "nothing"}, say("Nothing yet. Scan a label, and what you do next is saved here.")),
    el("p", {class: "small quieter"}, snapshot ? say("Books as {hand}.", snapshot) + " " : ""), el("p", {}, el("a", {class: "wide-link", href: "/"}, say("To the desk’s pages"))));
}

const local = at => { const day = new Date(at); return new Date(day - day.getTimezoneOffset() * MINUTE).toISOString().slice(0, 19); };

function showMend(number) {
  const record = records.find(one => one.number === number && ["refused", "waiting"].includes(one.state));
  if (!record) { location.hash = "#list"; return; }
  const subject = subjectOf(record.lot, record.place), act = ACTS[record.act];
  // A bag that somebody else moved meanwhile is moved anew, from where it was found now.
  const moment = record.act === "stand" && record.state === "refused" ? now() : record.at;
  const values = {...record.given, at: local(moment), picture: record.picture};
  const when = {name: "at", label: say("When it was done"), kind: "moment"};
  const again = async (made, given) => {
    if (record.state === "booked") { location.replace("#list"); return; } // it went out meanwhile
    const {picture, at: when_it_was, ...rest} = given;
    const at_time = when_it_was && when_it_was !== local(record.at) ? new Date(when_it_was).toISOString() : record.at;
    await keepRecord(Object.assign(record, made, {given: rest, at: at_time, by: snapshot.hand, state: "waiting", says: ""}));
    rebuild();
    tell(say("Saved: {words}.", record), "#list");
    if (navigator.onLine) sync();
  };
  const reason = el("input", {id: "reason", type: "text", name: "reason", autocomplete: "off"});
  const putAside = el("form", {class: "form", onsubmit: async event => {
    event.preventDefault();
    if (!reason.value.trim()) { showWrong(putAside, {reason: say("Say in a few words why.")}); return; }
    if (record.state === "booked") { location.replace("#list"); return; }
    await keepRecord(Object.assign(record, {state: "aside", reason: reason.value.trim()}));
    rebuild();
    tell(say("Put aside. It stays on this phone and can be brought back."), "#list");
    if (navigator.onLine) sync(); // what waited behind it
  }}, el("div", {class: "field"}, el("label", {for: "reason"}, say("Why it is put aside")), reason), el("p", {class: "acts"}, el("button", {class: "quiet big"}, say("Put it aside"))));
  fill(page, heading(NOUNS[record.act], ": ", record.words), record.says ? el("p", {class: "refusal"}, record.says) : null,
    formOf(record.act, subject, values, {save: say("Save and send again"), done: again, more: [when]}),
    el("h2", {}, say("Or put it aside")), putAside);
}

// Begin ---------------------------------------------------------------------------------------------------

addEventListener("hashchange", () => { if (location.hash !== saidAt) said = saidAt = ""; show(); });
addEventListener("online", () => sync());
addEventListener("offline", () => { signal = "away"; showBar(); });
document.addEventListener("visibilitychange", () => {
  if (document.hidden) { if (stopCamera) { stopCamera(); stopCamera = null; } } else { sync(); if (!location.hash.slice(1)) show(); }
});
setInterval(() => { if (!document.hidden && waiting().length) sync(); }, AGAIN);

await openStore(which);
[snapshot, records] = [await keptBook() || null, await keptRecords()];
rebuild();
show();
sync();
askToStay();
if (window.isSecureContext && navigator.serviceWorker) navigator.serviceWorker.register(WORKER, {scope: page.dataset.scope}).catch(() => {});
