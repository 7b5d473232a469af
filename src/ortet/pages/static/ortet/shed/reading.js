// Reading a code off a label: from the camera as it goes where the browser allows it, else from a photo.
import {say} from "./words.js";

const HERE = new URL(".", import.meta.url);
const LOOKS = {formats: ["QRCode"], tryHarder: true, maxNumberOfSymbols: 1};
const LONGEST = 2000; // px of a photo to be read
const PHOTO_SIDE = 1600; // px of a photo to be kept

let reader;
function loaded() {
  reader = reader || new Promise((done, fail) => {
    const script = document.createElement("script");
    script.src = new URL("reader/zxing_reader.js", HERE);
    script.onload = () => {
      globalThis.ZXingWASM.prepareZXingModule({overrides: {locateFile: name => new URL(`reader/${name}`, HERE).href}});
      done(globalThis.ZXingWASM);
    };
    script.onerror = () => { reader = null; fail(new Error(say("What reads codes could not be loaded: type the code, or try again with a signal."))); };
    document.head.append(script);
  });
  return reader;
}

export const canScanLive = () => Boolean(window.isSecureContext && navigator.mediaDevices?.getUserMedia);

async function readPixels(pixels) {
  const {readBarcodes} = await loaded();
  const [found] = await readBarcodes(pixels, LOOKS);
  return found?.isValid ? found.text : null;
}

function drawn(source, width, height, longest) {
  const scale = Math.min(1, longest / Math.max(width, height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.max(1, Math.round(width * scale));
  canvas.height = Math.max(1, Math.round(height * scale));
  canvas.getContext("2d", {willReadFrequently: true}).drawImage(source, 0, 0, canvas.width, canvas.height);
  return canvas;
}

const pixelsOf = canvas => canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);

async function pictureOf(file) {
  try {
    return await createImageBitmap(file, {imageOrientation: "from-image"});
  } catch {
    throw new Error(say("This is no photo that the phone can open. Take it again."));
  }
}

export async function readPhoto(file) {
  const picture = await pictureOf(file);
  return readPixels(pixelsOf(drawn(picture, picture.width, picture.height, LONGEST)));
}

// Scaled down and drawn anew: what the camera wrote beside the picture, its position too, does not come along.
export async function shrunk(file) {
  const picture = await pictureOf(file);
  const canvas = drawn(picture, picture.width, picture.height, PHOTO_SIDE);
  const blob = await new Promise(done => canvas.toBlob(done, "image/jpeg", 0.82));
  return blob.arrayBuffer();
}

// Look through the camera until a code is found or it is stopped; return how to stop it.
export async function scanLive(video, found, failed) {
  const stream = await navigator.mediaDevices.getUserMedia({audio: false, video: {facingMode: "environment", width: {ideal: 1280}, height: {ideal: 720}}});
  let stopped = false;
  const stop = () => {
    stopped = true;
    for (const track of stream.getTracks()) track.stop();
    video.srcObject = null;
  };
  video.srcObject = stream;
  await video.play().catch(() => {});
  const look = async () => {
    if (stopped) return;
    try {
      const text = video.videoWidth ? await readPixels(pixelsOf(drawn(video, video.videoWidth, video.videoHeight, 1280))) : null;
      if (stopped) return;
      if (text) { stop(); found(text); return; }
    } catch (error) { stop(); failed(error); return; }
    setTimeout(look, 120);
  };
  look();
  return stop;
}
