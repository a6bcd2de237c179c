// Photos, made small on the phone: longest side 1,600 pixels, JPEG. Drawing them anew also leaves
// behind what the camera wrote into the file: where it was taken, and by whose phone.
import { newId } from "./ids.js";
import * as store from "./store.js";
import { h } from "./dom.js";

const LONGEST = 1600;
const QUALITY = 0.85;

/** A file that is no picture. */
export class NoPicture extends Error {}

/** Keep a photo of an inspection on the phone; returns its id. */
export async function kept(entry, file) {
  const { blob, width, height } = await resized(file);
  const row = { id: newId(), entry, blob, width, height, sent: false, at: new Date().toISOString() };
  await store.keepPhoto(row);
  return row.id;
}

async function resized(file) {
  const bitmap = await opened(file);
  const scale = Math.min(1, LONGEST / Math.max(bitmap.width, bitmap.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.max(1, Math.round(bitmap.width * scale));
  canvas.height = Math.max(1, Math.round(bitmap.height * scale));
  canvas.getContext("2d").drawImage(bitmap, 0, 0, canvas.width, canvas.height);
  bitmap.close();
  const blob = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", QUALITY));
  if (!blob) throw new NoPicture("The photo could not be made smaller. Take it again.");
  return { blob, width: canvas.width, height: canvas.height };
}

async function opened(file) {
  try {
    return await createImageBitmap(file, { imageOrientation: "from-image" });
  } catch (fault) {
    if (fault instanceof DOMException) {
      throw new NoPicture("This file is no picture that a phone can open. Take a photo instead.");
    }
    throw fault;
  }
}

/** The photo as a small picture, drawn once it has been read. */
export function thumbnail(id, words) {
  const canvas = h("canvas", { class: "thumb", width: 160, height: 120, role: "img", "aria-label": words });
  store.photo(id).then((row) => row?.blob && draw(canvas, row.blob));
  return canvas;
}

async function draw(canvas, blob) {
  const bitmap = await createImageBitmap(blob);
  canvas.width = Math.round((canvas.height * bitmap.width) / bitmap.height);
  canvas.getContext("2d").drawImage(bitmap, 0, 0, canvas.width, canvas.height);
  bitmap.close();
}
