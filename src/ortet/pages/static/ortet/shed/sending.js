// Records go out in order, each until the book has said what became of it; the id sees to it that none is booked twice.
import {keepRecord} from "./store.js";

const MOST = 25; // records in one go
const MOST_BYTES = 4_000_000; // of pictures in one go

const token = () => (document.cookie.match(/(?:^|; )csrftoken=([^;]+)/) || [])[1] || "";

function base64(buffer) {
  const bytes = new Uint8Array(buffer);
  let text = "";
  for (let n = 0; n < bytes.length; n += 0x8000) text += String.fromCharCode(...bytes.subarray(n, n + 0x8000));
  return btoa(text);
}

// A record waits behind a refused one about the same lot, bag or batch: what comes later rests on what came before.
export function heldBehind(records) {
  const refused = new Map(), held = new Map();
  for (const record of records) {
    if (record.state !== "waiting" && record.state !== "refused") continue;
    const before = record.about.map(code => refused.get(code)).find(Boolean);
    if (record.state === "waiting" && before) held.set(record.number, before);
    if (record.state === "refused" || before) {
      for (const code of record.about) if (!refused.has(code)) refused.set(code, before || record);
    }
  }
  return held;
}

// What is to go out next.
function next(records) {
  const held = heldBehind(records), found = [];
  let bytes = 0;
  for (const record of records) {
    if (record.state !== "waiting" || held.has(record.number)) continue;
    bytes += record.picture ? record.picture.byteLength : 0;
    if (found.length && (found.length >= MOST || bytes > MOST_BYTES)) break;
    found.push(record);
  }
  return found;
}

const outer = record => ({
  id: record.id, act: record.act, at: record.at, by: record.by, about: record.about, said: record.said,
  ...(record.picture ? {picture: base64(record.picture)} : {}),
});

// Ask the server; say in a word what came: ok, or why not.
async function ask(address, options = {}) {
  let answer;
  try {
    answer = await fetch(address, {credentials: "same-origin", redirect: "manual", cache: "no-store", ...options});
  } catch {
    return {is: "away"};
  }
  if (answer.type === "opaqueredirect") return {is: "signed-out"};
  if (answer.ok && (answer.headers.get("Content-Type") || "").includes("json")) return {is: "ok", said: await answer.json()};
  if (answer.status === 403) return {is: "forbidden", text: await answer.text()};
  return {is: "failing", status: answer.status};
}

export const askBook = address => ask(address);

let sending = null;
// Send all that may go; one at a time, however often it is asked for.
export function send(given) {
  sending = sending || sendAll(given).finally(() => { sending = null; });
  return sending;
}

async function sendAll({address, book, records, told}) {
  for (let batch = next(records()); batch.length; batch = next(records())) {
    const body = JSON.stringify({book, records: batch.map(outer)});
    const answer = await ask(address, {method: "POST", body, headers: {"Content-Type": "application/json", "X-CSRFToken": token()}});
    if (answer.is !== "ok") return answer;
    const became = new Map(answer.said.answers.map(one => [one.id, one]));
    let moved = 0;
    for (const record of batch) {
      const one = became.get(record.id);
      if (!one || one.became === "held") continue;
      const booked = one.became === "booked" || one.became === "known";
      Object.assign(record, {state: booked ? "booked" : "refused", says: one.says});
      if (booked) { record.bookedAt = Date.now(); delete record.picture; }
      await keepRecord(record);
      moved += 1;
    }
    told();
    if (!moved) return {is: "failing", status: 0};
  }
  return {is: "ok"};
}
