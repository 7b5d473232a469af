// The few acts: when each can be done, what it asks, and the record that it makes. The words are those of the pages.
import {called, placeWords, whenceWords, whereWords} from "./book.js";
import {say} from "./words.js";

const SLIP = 3; // a bag that weighs this many times more or less than before is a slip of the pen, as at the desk
const WOOD = ["bench", "store", "bag"];

const isWhole = (value, least) => /^\d+$/.test(value) && Number(value) >= least;
const many = count => count === 1 ? say("1 cutting") : say("{count} cuttings", {count});
const ofLot = lot => `${lot.variety} ${called(lot)}`;
const aboutOf = ({lot, place}) => [lot?.code, ["bag", "batch"].includes(place?.kind) ? place.code : null].filter(Boolean);

// How many, of so many that lie there; empty means all, and all is said as a number: others may take some meanwhile.
const countField = there => ({name: "count", label: say("Cuttings"), kind: "count", hint: there ? say("Empty: all {there}.", {there}) : say("How many.")});
function countIn(values, there) {
  if (values.count === "" && there) return {count: there};
  if (!isWhole(values.count, 1)) return {wrong: {count: say("A whole number, 1 or more.")}};
  if (there && Number(values.count) > there) return {wrong: {count: say("{count} asked, {there} are there as far as this phone knows.", {count: values.count, there})}};
  return {count: Number(values.count)};
}

const COUNTED = {
  rooted: count => say("{count} rooted", {count}), callused: count => say("{count} callused", {count}),
  leafed: count => say("{count} leafed", {count}), dead: count => say("{count} dead", {count}),
};

const thereOf = ({lot, place}, book) => lot && place ? book.count(lot, place) : 0;
const hasWood = ({lot, place}) => lot && place && WOOD.includes(place.kind);

function destination(book, kinds, but, label = say("To")) {
  return {name: "to", label, kind: "place", places: book.among(kinds, but)};
}

function placeIn(values, places) {
  const text = (values.to || "").trim().toLowerCase();
  const found = places.find(place => place.code === values.to || place.name.toLowerCase() === text);
  return found ? {to: found} : {wrong: {to: text ? say("This phone knows no place called “{name}” that it could go to.", {name: values.to}) : say("Say where.")}};
}

export const ACTS = {
  stand: {
    title: ({place}) => say("Move {place}", {place: placeWords(place)}),
    button: ({place}) => place.kind === "bag" ? say("Move the bag") : say("Move the batch"),
    save: say("Move it"),
    can: ({place}) => ["bag", "batch"].includes(place?.kind),
    asks: ({place}, book) => [destination(book, [place.kind === "bag" ? "store" : "bench"], place.stands, say("Stands from now on"))],
    makes(values, {lot, place}, book) {
      const {to, wrong} = placeIn(values, book.among([place.kind === "bag" ? "store" : "bench"], place.stands));
      if (wrong) return {wrong};
      const from = book.place(place.stands);
      return {
        said: {bag: place.code, store: to.code, from_store: place.stands || ""},
        words: from ? say("{place} from {from} to {to}", {place: placeWords(place), from: from.name, to: to.name}) : say("{place} to {to}", {place: placeWords(place), to: to.name}),
        about: [place.code, ...book.holdings({place}).map(one => one.lot.code)], stands: [place.code, to.code],
      };
    },
  },
  move: {
    title: ({lot, place}) => say("Move cuttings of {variety} {from}", {variety: lot.variety, from: whenceWords(place)}),
    button: ({place}) => place.kind === "ground" ? say("Move plants") : say("Move cuttings"),
    save: say("Move"),
    can: subject => hasWood(subject) || (subject.lot && subject.place?.kind === "ground"),
    asks: (subject, book) => [countField(thereOf(subject, book)), destination(book, subject.place.kind === "ground" ? ["ground"] : WOOD, subject.place.code)],
    makes(values, {lot, place}, book) {
      const {count, wrong} = countIn(values, thereOf({lot, place}, book));
      const to = placeIn(values, book.among(place.kind === "ground" ? ["ground"] : WOOD, place.code));
      if (wrong || to.wrong) return {wrong: {...wrong, ...to.wrong}};
      return {
        said: {lot: lot.code, from_place: place.code, to_place: to.to.code, count},
        words: say("{many} of {lot} from {from} to {to}", {many: many(count), lot: ofLot(lot), from: placeWords(place), to: placeWords(to.to)}),
        about: [...aboutOf({lot, place}), ...aboutOf({place: to.to})], moves: [[lot.code, place.code, to.to.code, count]],
      };
    },
  },
  weigh: {
    title: ({place}) => say("Weigh {place}", {place: placeWords(place)}),
    button: () => say("Weigh"),
    save: say("Save the weight"),
    can: ({place}) => place?.kind === "bag",
    asks: ({place}, book) => [{name: "gross_g", label: say("Weight, bag and all ({unit})", {unit: book.snapshot.units.mass}), kind: "number",
      hint: place.last && book.snapshot.units.mass === "g" ? say("It weighed {grams} g before.", {grams: Math.round(place.last * 10) / 10}) : ""}],
    makes(values, {lot, place}, book, isSure) {
      const text = values.gross_g.trim(), grams = Number(text.replace(",", "."));
      if (!text || grams <= 0) return {wrong: {gross_g: say("Say what it weighs.")}};
      const metric = book.snapshot.units.mass === "g" && Number.isFinite(grams);
      const ratio = (grams - (place.tare || 0)) / ((place.last || 0) - (place.tare || 0));
      if (metric && place.last && !isSure && !(ratio > 1 / SLIP && ratio < SLIP)) {
        return {ask: say("{now} g, and it weighed {grams} g before. Is a digit wrong? Press again if it is right.", {now: text, grams: Math.round(place.last * 10) / 10})};
      }
      return {said: {bag: place.code, gross_g: text}, words: say("{place} weighs {weight}", {place: placeWords(place), weight: /[a-z]/i.test(text) ? text : `${text} ${book.snapshot.units.mass}`}),
        about: [place.code], ...(metric ? {weighs: [place.code, grams]} : {})};
    },
  },
  inspect: {
    title: ({lot, place}) => say("Inspect {variety} {where}", {variety: lot.variety, where: whereWords(place)}),
    button: () => say("Inspect"),
    save: say("Save what was seen"),
    can: hasWood,
    asks: () => [
      {kind: "side", fields: [{name: "sound", label: say("Sound"), kind: "count"}, {name: "mouldy", label: say("Mouldy"), kind: "count"}, {name: "dry", label: say("Dry"), kind: "count"}]},
      {name: "free_water", label: say("Free water in the bag"), kind: "choice", choices: [["none", say("none")], ["droplets", say("droplets")], ["pooled", say("pooled")]]},
      {kind: "side", fields: [{name: "scratch_green", label: say("Green under the bark"), kind: "count"}, {name: "scratch_of", label: say("Of how many scratched"), kind: "count"}]},
      {name: "callus", label: say("Callus, the lot as a whole"), kind: "choice", choices: [["0", say("none")], ["1", say("first specks")], ["2", say("half the ring")], ["3", say("most of it")], ["4", say("full ring")]]},
      {name: "note", label: say("Note"), kind: "long"},
    ],
    makes(values, {lot, place}) {
      const counts = ["sound", "mouldy", "dry", "scratch_green", "scratch_of"];
      const wrong = Object.fromEntries(counts.filter(name => values[name] && !isWhole(values[name], 0)).map(name => [name, say("A whole number.")]));
      if (Object.keys(wrong).length) return {wrong};
      const {scratch_green: green, scratch_of: of} = values;
      if ((green === "") !== (of === "") || Number(green) > Number(of)) return {wrong: {scratch_of: say("Give both: how many green, of how many scratched.")}};
      const said = Object.fromEntries(Object.entries(values).filter(([, value]) => value !== ""));
      if (!Object.keys(said).length) return {wrong: {sound: say("Nothing was entered. Leave empty only what you did not look at.")}};
      const seen = [];
      if (values.sound !== "") seen.push(say("{count} sound", {count: values.sound}));
      if (values.mouldy !== "") seen.push(say("{count} mouldy", {count: values.mouldy}));
      if (values.dry !== "") seen.push(say("{count} dry", {count: values.dry}));
      if (of !== "") seen.push(say("{green} green of {of}", {green, of}));
      if (values.free_water) seen.push(say("free water: {how}", {how: say(values.free_water)}));
      if (values.callus) seen.push(say("callus {step} of 4", {step: values.callus}));
      return {said: {...said, lot: lot.code, place: place.code}, words: `${ofLot(lot)} ${whereWords(place)}: ${seen.join(", ") || values.note}`, about: aboutOf({lot, place})};
    },
  },
  count: {
    title: ({lot, place}) => lot ? say("Count {place}, {variety}", {place: placeWords(place), variety: lot.variety}) : say("Count {place}", {place: placeWords(place)}),
    button: () => say("Count"),
    save: say("Save the count"),
    can: ({lot, place}) => place?.kind === "batch" || (place?.kind === "ground" && lot),
    asks: () => [
      {kind: "side", fields: [{name: "rooted", label: say("Rooted"), kind: "count"}, {name: "callused", label: say("Callus only"), kind: "count"}]},
      {kind: "side", fields: [{name: "leafed", label: say("Leaves, no roots"), kind: "count"}, {name: "dead", label: say("Dead"), kind: "count"}]},
      {name: "give_up_dead", label: say("Throw the dead out: book them as given up"), kind: "tick"},
    ],
    makes(values, {lot, place}, book) {
      const names = ["rooted", "callused", "leafed", "dead"], given = names.filter(name => values[name] !== "");
      const wrong = Object.fromEntries(given.filter(name => !isWhole(values[name], 0)).map(name => [name, say("A whole number.")]));
      if (!given.length) wrong.rooted = say("Nothing was entered. Leave empty only what you did not count.");
      if (Object.keys(wrong).length) return {wrong};
      const there = thereOf({lot, place}, book), sum = given.reduce((total, name) => total + Number(values[name]), 0);
      if (there && sum > there) return {wrong: {rooted: say("That makes {sum}, and {there} stand there as far as this phone knows. Count each once.", {sum, there})}};
      const out = values.give_up_dead && Number(values.dead) && lot ? [[lot.code, place.code, null, Number(values.dead)]] : [];
      return {
        said: {...Object.fromEntries(given.map(name => [name, values[name]])), place: place.code, lot: lot ? lot.code : "", give_up_dead: Boolean(values.give_up_dead)},
        words: `${placeWords(place)}: ${given.map(name => COUNTED[name](values[name])).join(", ")}`, about: aboutOf({lot, place}), moves: out,
      };
    },
  },
  strike: {
    title: ({lot}) => say("Strike {variety}", lot),
    button: () => say("Strike"),
    save: say("Strike"),
    can: hasWood,
    cautions: book => book.snapshot.cautions.strike,
    asks: (subject, book) => [
      countField(thereOf(subject, book)), destination(book, ["bench"], null, say("Bench")),
      {name: "treatment", label: say("Treatment of the base"), kind: "text", hint: say("In your words, such as none, or K-IBA 2500 mg/l dip.")},
      {kind: "side", fields: [{name: "tray", label: say("Tray"), kind: "text"}, {name: "base_c", label: say("Base ({unit})", {unit: book.snapshot.units.temperature}), kind: "number"}]},
      {name: "wounded", label: say("The base was wounded"), kind: "tick"},
    ],
    makes(values, {lot, place}, book) {
      const {count, wrong} = countIn(values, thereOf({lot, place}, book));
      const to = placeIn(values, book.among(["bench"]));
      if (wrong || to.wrong) return {wrong: {...wrong, ...to.wrong}};
      const {treatment, tray, base_c, wounded} = values;
      return {
        said: {lot: lot.code, from_place: place.code, count, bench: to.to.code, treatment, tray, base_c, wounded: Boolean(wounded)},
        words: say("{many} of {lot} out of {from}, struck on {to}", {many: many(count), lot: ofLot(lot), from: placeWords(place), to: to.to.name}),
        about: aboutOf({lot, place}), moves: [[lot.code, place.code, null, count]],
      };
    },
  },
  "give-up": {
    title: ({lot, place}) => say("Give up {variety} {where}", {variety: lot.variety, where: whereWords(place)}),
    button: () => say("Give up"),
    save: say("Book out"),
    can: ({lot, place}) => lot && place && !["site", "parcel"].includes(place.kind),
    asks: (subject, book) => [
      {...countField(0), hint: say("Of {there} there.", {there: thereOf(subject, book)})},
      {name: "not_found", label: say("Why"), kind: "choice", choices: [["", say("no longer fit to use")], ["1", say("not found at a count")]], value: ""},
      {name: "note", label: say("Note"), kind: "long"},
    ],
    makes(values, {lot, place}, book) {
      const {count, wrong} = countIn(values.count === "" ? {count: "?"} : values, thereOf({lot, place}, book));
      if (wrong) return {wrong};
      return {
        said: {lot: lot.code, from_place: place.code, count, not_found: values.not_found, note: values.note},
        words: values.not_found ? say("{many} of {lot} not found, {where}", {many: many(count), lot: ofLot(lot), where: whereWords(place)})
          : say("{many} of {lot} given up, {where}", {many: many(count), lot: ofLot(lot), where: whereWords(place)}),
        about: aboutOf({lot, place}), moves: [[lot.code, place.code, null, count]],
      };
    },
  },
  note: {
    title: subject => say("Note on {name}", {name: nameOf(subject)}),
    button: () => say("Note"),
    save: say("Save the note"),
    can: () => true,
    asks: () => [{name: "note", label: say("In your words"), kind: "long"}],
    makes(values, subject) {
      if (!values.note.trim()) return {wrong: {note: say("Write a few words.")}};
      return {said: {...codesOf(subject), note: values.note}, words: `${nameOf(subject)}: ${values.note.trim()}`, about: aboutOf(subject)};
    },
  },
  photo: {
    title: subject => say("Photo of {name}", {name: nameOf(subject)}),
    button: () => say("Photo"),
    save: say("Save the photo"),
    can: () => true,
    asks: () => [{name: "picture", label: say("The photo"), kind: "photo"}, {name: "note", label: say("What it shows"), kind: "text"}],
    makes(values, subject) {
      if (!values.picture) return {wrong: {picture: say("Take the photo first.")}};
      return {said: {...codesOf(subject), note: values.note}, picture: values.picture, words: `${nameOf(subject)}${values.note ? `: ${values.note}` : ""}`, about: aboutOf(subject)};
    },
  },
};

export const NOUNS = {
  stand: say("Move"), move: say("Move"), weigh: say("Weigh"), inspect: say("Inspect"), count: say("Count"), strike: say("Strike"), "give-up": say("Give up"),
  note: say("Note"), photo: say("Photo"),
};
const codesOf = ({lot, place}) => ({lot: lot ? lot.code : "", place: place ? place.code : ""});
export const nameOf = ({lot, place}) => [lot ? ofLot(lot) : "", place ? (lot ? whereWords(place) : placeWords(place)) : ""].filter(Boolean).join(" ");
