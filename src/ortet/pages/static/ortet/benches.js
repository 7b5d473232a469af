// Looks at a batch otherwise while a bar is dragged or a choice changes. Without this script the form does the same.
import {say} from "./shed/words.js";

(() => {
  const form = document.querySelector("form.looking");
  const sheet = document.getElementById("benches");
  const shown = document.getElementById("looked");
  if (!form || !sheet || !shown) return;
  document.documentElement.classList.add("scripted-page");
  const {batch, where, start} = form.elements;
  const DAY = 86400000;

  // Ask, at most one question under way; the last one counts.
  let asking = null, last = "";
  async function ask() {
    const asked = new URLSearchParams(new FormData(form)).toString();
    if (asked === last) return;
    last = asked;
    if (asking) asking.abort();
    asking = new AbortController();
    shown.inert = true;  // what is shown is of an earlier choice: nobody keeps that by mistake
    try {
      const answer = await fetch(`${form.dataset.look}?${asked}`, {signal: asking.signal, credentials: "same-origin"});
      if (answer.redirected) { location.reload(); return; }
      if (!answer.ok && answer.status !== 422) throw new Error(`${answer.status}`);
      shown.innerHTML = await answer.text();
      shown.inert = false;
    } catch (error) {
      if (error.name === "AbortError") return;
      last = "";
      shown.inert = false;
      shown.textContent = say("The server did not answer. Press Look to try again.");
    }
  }

  function choose(field, value) {
    if ([...field.options].some(option => option.value === value)) field.value = value;
  }

  // A slider beside the weeks: quicker than a list, for a thumb.
  const slider = document.createElement("input");
  slider.type = "range";
  slider.min = 0;
  slider.max = start.options.length - 1;
  slider.value = start.selectedIndex;
  slider.className = "weeks";
  slider.setAttribute("aria-label", say("Week"));
  const told = () => slider.setAttribute("aria-valuetext", start.options[start.selectedIndex].text);
  told();
  form.append(slider);
  slider.addEventListener("input", () => { start.selectedIndex = Number(slider.value); told(); ask(); });

  const bars = [...sheet.querySelectorAll("a.bar")];
  function pick(bar) {
    for (const one of bars) one.classList.toggle("picked", one.dataset.batch === bar.dataset.batch);
    choose(batch, bar.dataset.batch);
  }
  form.addEventListener("change", event => {
    const own = bars.find(bar => bar.dataset.batch === batch.value);
    if (event.target === batch) {
      for (const one of bars) one.classList.toggle("picked", one === own);
      if (own) { choose(where, own.dataset.where); choose(start, own.dataset.start); }
    }
    slider.value = start.selectedIndex;
    told();
    ask();
  });
  form.addEventListener("submit", event => { event.preventDefault(); last = ""; ask(); });

  // Dragging: sideways to another week, up or down to another bench.
  const week = Number(sheet.dataset.week);
  const first = Date.parse(sheet.dataset.first);
  const monday = (from, weeks) => new Date(Math.max(first, Date.parse(from) + weeks * 7 * DAY)).toISOString().slice(0, 10);
  const scale = () => sheet.viewBox.baseVal.width / sheet.getBoundingClientRect().width;
  const benchAt = y => [...sheet.querySelectorAll(".bench")].find(bench => {
    const box = bench.querySelector(".bed").getBoundingClientRect();
    return box.top <= y && y <= box.bottom;
  });
  let held = null;
  sheet.addEventListener("pointerdown", event => {
    const bar = event.target.closest("a.bar");
    if (!bar || event.button) return;
    held = {bar, x: event.clientX, y: event.clientY, moved: false};
  });
  sheet.addEventListener("dragstart", event => event.preventDefault());
  addEventListener("pointermove", event => {
    if (!held) return;
    const dx = (event.clientX - held.x) * scale(), dy = (event.clientY - held.y) * scale();
    if (!held.moved && Math.hypot(dx, dy) < 6) return;
    if (!held.moved) {
      held.moved = true;
      pick(held.bar);
      held.bar.classList.add("held");
      held.strip = held.bar.closest(".bench");
      held.next = held.strip.nextSibling;
      sheet.append(held.strip); // over the strips of the other benches
    }
    const {bar} = held, weeks = Math.round(dx / week);
    bar.setAttribute("transform", `translate(${weeks * week} ${dy})`);
    choose(start, monday(bar.dataset.start, weeks));
    const bench = benchAt(event.clientY), heat = bar.dataset.where.split(":")[1];
    if (bench && !where.value.startsWith(`${bench.dataset.bench}:`)) {
      const there = [...where.options].filter(option => option.value.startsWith(`${bench.dataset.bench}:`));
      const same = there.find(option => option.value.split(":")[1] === heat) || there[0];
      if (same) where.value = same.value;
    }
    slider.value = start.selectedIndex;
    told();
    ask();
  });
  const drop = () => {
    if (!held) return;
    const {bar, moved, strip, next} = held;
    held = null;
    if (!moved) return;
    bar.classList.remove("held");
    sheet.addEventListener("click", event => event.preventDefault(), {once: true, capture: true});
    setTimeout(() => { bar.removeAttribute("transform"); sheet.insertBefore(strip, next); }, 400);
    form.scrollIntoView({block: "nearest"});
  };
  addEventListener("pointerup", drop);
  addEventListener("pointercancel", drop);

  // A plain press looks at the bar without loading the page anew.
  sheet.addEventListener("click", event => {
    const bar = event.target.closest("a.bar");
    if (!bar || event.defaultPrevented || event.metaKey || event.ctrlKey) return;
    event.preventDefault();
    pick(bar);
    choose(where, bar.dataset.where);
    choose(start, bar.dataset.start);
    slider.value = start.selectedIndex;
    told();
    ask();
    form.scrollIntoView({block: "nearest"});
  });
})();
