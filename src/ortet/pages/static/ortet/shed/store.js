// What the phone keeps: the book as it was last asked, and every record until long after it was booked.
import {say} from "./words.js";

const KEPT = 300; // booked records that stay to be looked at

let opened;
export function openStore(book) {
  opened = new Promise((done, fail) => {
    const asked = indexedDB.open(`ortet-shed-${book}`, 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore("book");
      asked.result.createObjectStore("records", {keyPath: "number", autoIncrement: true});
    };
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => fail(asked.error);
  });
  return opened;
}

// Strict: told as saved only once it lies on the disk, so that a battery that falls out loses nothing.
async function within(store, act, mode = "readwrite") {
  const database = await opened;
  return new Promise((done, fail) => {
    const turn = database.transaction(store, mode, {durability: "strict"});
    const asked = act(turn.objectStore(store));
    turn.oncomplete = () => done(asked && asked.result);
    turn.onabort = turn.onerror = () => fail(turn.error || new Error(say("The phone could not save.")));
  });
}

export const keepBook = snapshot => within("book", store => store.put(snapshot, "snapshot"));
export const forgetBook = () => within("book", store => store.delete("snapshot"));
export const keptBook = () => within("book", store => store.get("snapshot"), "readonly");
export const keepRecord = record => within("records", store => store.put(record));
export const keptRecords = () => within("records", store => store.getAll(), "readonly");

// Booked records go once there are many; what is not booked never does.
export async function tidy(records) {
  const booked = records.filter(record => record.state === "booked");
  for (const record of booked.slice(0, Math.max(0, booked.length - KEPT))) {
    await within("records", store => store.delete(record.number));
  }
}

// Ask the browser not to clear what is kept here when the phone runs short of room.
export async function askToStay() {
  try { return Boolean(await navigator.storage?.persist?.()); } catch { return false; }
}
