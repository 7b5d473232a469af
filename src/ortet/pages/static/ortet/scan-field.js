// A field for a label's code gets a button that reads it: through the camera as it goes where the browser allows it, else from
// a photo. Without this script the field is typed in, or filled by a scanner that types.
import {readLabel} from "./shed/codes.js";
import {canScanLive, readPhoto, scanLive} from "./shed/reading.js";
import {say} from "./shed/words.js";

function made(name, given = {}, ...inside) {
  const one = Object.assign(document.createElement(name), given);
  one.append(...inside);
  return one;
}

function dress(field) {
  const said = made("span", {className: "hint", role: "status"});
  const video = made("video", {hidden: true, muted: true, playsInline: true, className: "finder", ariaLabel: say("What the camera sees")});
  let stop = null;
  const end = () => { if (stop) stop(); stop = null; video.hidden = true; button.textContent = say("Scan"); };
  const got = text => {
    end();
    if (!text) { said.textContent = say("No code was found. Come closer, hold it flat, or type what stands under it."); return; }
    const label = readLabel(text);
    field.value = label.text || text;
    said.textContent = say("Read: {code}", {code: field.value});
    field.form.querySelector("[name=count], [name=found]")?.focus();
  };
  const failed = error => { end(); said.textContent = error instanceof DOMException ? say("The camera cannot be used: allow it for this page in the browser, or type the code.") : error.message; };
  const photo = made("input", {type: "file", accept: "image/*", hidden: true});
  photo.setAttribute("capture", "environment");
  photo.addEventListener("change", () => { if (photo.files[0]) readPhoto(photo.files[0]).then(got, failed); photo.value = ""; });
  const button = made("button", {type: "button", className: "quiet", textContent: say("Scan")});
  button.addEventListener("click", async () => {
    said.textContent = "";
    if (stop) { end(); return; }
    if (!canScanLive()) { photo.click(); return; }
    video.hidden = false;
    button.textContent = say("Stop");
    try { stop = await scanLive(video, got, failed); } catch (error) { failed(error); }
  });
  field.after(button, photo, video, said);
}

for (const field of document.querySelectorAll("input[data-scan]")) dress(field);
