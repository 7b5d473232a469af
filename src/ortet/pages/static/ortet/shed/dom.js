// Elements, and the fields of a form. Words from the book become text, never markup.
import {shrunk} from "./reading.js";
import {say} from "./words.js";

export function el(tag, given = {}, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(given)) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) made.addEventListener(name.slice(2), value);
    else if (name === "value" || (name in made && typeof value !== "string")) made[name] = value;
    else made.setAttribute(name, value === true ? "" : value);
  }
  made.append(...children.flat().filter(child => child !== null && child !== undefined && child !== false));
  return made;
}

export const fill = (parent, ...children) => parent.replaceChildren(...children.flat().filter(Boolean));

const FEW = 6; // places that are shown side by side rather than typed

function radios(field, choices, value) {
  return el("fieldset", {class: "field"}, el("legend", {}, field.label),
    el("div", {class: "choices"}, choices.map(([code, words]) => el("label", {}, el("input", {type: "radio", name: field.name, value: code, checked: code === value}), words))));
}

function typed(field, value, more = {}) {
  const id = `field-${field.name}`;
  return el("div", {class: "field"}, el("label", {for: id}, field.label), field.hint ? el("span", {class: "hint", id: `${id}-hint`}, field.hint) : null,
    el(field.kind === "long" ? "textarea" : "input", {id, name: field.name, autocomplete: "off", ...(field.kind === "long" ? {rows: "3"} : {type: "text"}),
      ...(field.hint ? {"aria-describedby": `${id}-hint`} : {}), ...more, value: value ?? ""}));
}

function photo(field, values) {
  const shown = el("img", {class: "taken", alt: say("The photo as it is kept"), hidden: !values.picture});
  const said = el("p", {class: "error", role: "alert"});
  const show = () => { shown.src = URL.createObjectURL(new Blob([values.picture], {type: "image/jpeg"})); shown.hidden = false; };
  if (values.picture) show();
  const input = el("input", {type: "file", id: "field-picture", accept: "image/*", capture: "environment", class: "unseen", onchange: async () => {
    if (!input.files[0]) return;
    try { values.picture = await shrunk(input.files[0]); said.textContent = ""; show(); } catch (error) { said.textContent = error.message; }
  }});
  return el("div", {class: "field"}, el("label", {for: "field-picture", class: "act big"}, say("Take the photo")), input, said, shown);
}

export function fieldOf(field, values) {
  const value = values[field.name] ?? field.value ?? "";
  switch (field.kind) {
    case "side": return el("div", {class: field.fields.length === 3 ? "side three" : "side"}, field.fields.map(one => fieldOf(one, values)));
    case "count": return typed(field, value, {inputmode: "numeric"});
    case "number": return typed(field, value, {inputmode: field.label.includes("oz") ? "text" : "decimal"});
    case "text": case "long": return typed(field, value);
    case "moment": return typed(field, value, {type: "datetime-local", step: "1"});
    case "choice": return radios(field, field.choices, value);
    case "tick": return el("div", {class: "field"}, el("label", {class: "tick"}, el("input", {type: "checkbox", name: field.name, checked: Boolean(value)}), field.label));
    case "photo": return photo(field, values);
    case "place": {
      if (!field.places.length) return el("p", {class: "nothing"}, say("{label}: this phone knows no place where it could go. Add one at the desk.", field));
      if (field.places.length <= FEW) return radios(field, field.places.map(place => [place.code, place.name]), value || (field.places.length === 1 ? field.places[0].code : ""));
      const list = el("datalist", {id: `known-${field.name}`}, field.places.map(place => el("option", {value: place.name})));
      return el("div", {}, typed({...field, hint: say("Its name.")}, field.places.find(place => place.code === value)?.name || value, {list: list.id}), list);
    }
  }
  throw new Error(field.kind);
}

export function valuesOf(form, fields, values) {
  for (const field of fields) {
    if (field.kind === "side") valuesOf(form, field.fields, values);
    else if (field.kind === "photo") continue;
    else if (field.kind === "tick") values[field.name] = Boolean(form.elements[field.name]?.checked);
    else values[field.name] = form.elements[field.name]?.value?.trim() ?? "";
  }
  return values;
}

export function showWrong(form, wrong) {
  for (const old of form.querySelectorAll(".error.of-field")) old.remove();
  for (const [name, words] of Object.entries(wrong)) {
    const named = form.elements[name], input = named instanceof RadioNodeList ? named[0] : named;
    const field = input?.closest(".field") || form.querySelector("#field-picture")?.closest(".field") || form;
    field.append(el("p", {class: "error of-field", role: "alert"}, words));
  }
  form.querySelector(".error.of-field")?.scrollIntoView({block: "center"});
}
