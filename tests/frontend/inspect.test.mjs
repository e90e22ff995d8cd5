import assert from "node:assert/strict";
import { test } from "node:test";

import { inspect } from "../../frontend/imaging/inspect.js";

const be16 = (n) => [n >> 8, n & 255];
const be32 = (n) => [...be16(n >>> 16), ...be16(n & 0xffff)];
const le16 = (n) => [n & 255, n >> 8];
const le32 = (n) => [...le16(n & 0xffff), ...le16(n >>> 16)];
const text = (word) => [...word].map((letter) => letter.charCodeAt(0));

function jpeg(width, height) {
  return [
    0xff, 0xd8,
    // A comment that holds what looks like an end mark.
    0xff, 0xfe, ...be16(4), 0xff, 0xd9,
    0xff, 0xc2, ...be16(11), 8, ...be16(height), ...be16(width), 1, 1, 0x11, 0,
    // Two scans, with a stuffed FF and a restart between their data.
    0xff, 0xda, ...be16(8), 1, 1, 0, 0, 63, 0, 1, 2, 0xff, 0, 3, 0xff, 0xd0, 4,
    0xff, 0xda, ...be16(8), 1, 1, 0, 0, 63, 0, 5, 6,
    0xff, 0xd9,
  ];
}

function png(width, height) {
  return [
    0x89, ...text("PNG\r\n"), 0x1a, 0x0a,
    ...be32(13), ...text("IHDR"), ...be32(width), ...be32(height), 8, 2, 0, 0, 0, ...be32(0),
    ...be32(3), ...text("IDAT"), 1, 2, 3, ...be32(0),
    ...be32(0), ...text("IEND"), ...be32(0),
  ];
}

function webp(width, height) {
  const chunk = [
    ...text("VP8X"), ...le32(10), 0, 0, 0, 0,
    ...le32(width - 1).slice(0, 3), ...le32(height - 1).slice(0, 3), ...text("more"),
  ];
  return [...text("RIFF"), ...le32(4 + chunk.length), ...text("WEBP"), ...chunk];
}

function gif(width, height) {
  return [...text("GIF89a"), ...le16(width), ...le16(height), 0, 0, 0, 0x3b];
}

/** A picture of one strip whose data stand before the directory. */
function tiff(width, height) {
  const strip = [1, 2, 3, 4];
  const long = (tag, value) => [...be16(tag), ...be16(4), ...be32(1), ...be32(value)];
  return [
    ...text("MM\0*"), ...be32(8 + strip.length), ...strip,
    ...be16(4), ...long(256, width), ...long(257, height), ...long(273, 8), ...long(279, 4), ...be32(0),
  ];
}

function heic(width, height) {
  const box = (type, content) => [...be32(8 + content.length), ...text(type), ...content];
  const size = (w, h) => box("ispe", [0, 0, 0, 0, ...be32(w), ...be32(h)]);
  return [
    ...box("ftyp", [...text("heic"), 0, 0, 0, 0, ...text("mif1heic")]),
    ...box("meta", [0, 0, 0, 0, ...size(512, 512), ...size(width, height), 0, 0, 0, 0]),
    ...box("mdat", [1, 2, 3]),
  ];
}

const FORMATS = [
  ["image/jpeg", "sheet.jpg", jpeg],
  ["image/png", "sheet.png", png],
  ["image/webp", "sheet.webp", webp],
  ["image/gif", "sheet.gif", gif],
  ["image/tiff", "sheet.tif", tiff],
  ["image/heic", "sheet.heic", heic],
];

for (const [content_type, name, make] of FORMATS) {
  test(`it knows ${content_type} by its content, with its size in pixels`, () => {
    const found = inspect(Uint8Array.from(make(4000, 3000)), name);
    assert.deepEqual(found, {
      content_type,
      width_px: 4000,
      height_px: 3000,
      trouble: "",
      warnings: [],
      makesThumbnail: true,
    });
  });

  test(`it says when a ${content_type} file ends early`, () => {
    const whole = make(4000, 3000);
    const cut = inspect(Uint8Array.from(whole.slice(0, -3)), name);
    assert.equal(cut.content_type, content_type);
    assert.match(cut.trouble, /ends early/);
    assert.match(cut.warnings[0], /Take it again/);
  });

  test(`a ${content_type} file cut anywhere raises no other error`, () => {
    const whole = make(4000, 3000);
    for (let length = 16; length < whole.length; length += 1) {
      inspect(Uint8Array.from(whole.slice(0, length)), name);
    }
  });
}

test("bytes after the end mark of a JPEG, as telephones add them, are no trouble", () => {
  const found = inspect(Uint8Array.from([...jpeg(40, 30), ...text("trailer of the maker")]), "a.jpg");
  assert.equal(found.trouble, "");
});

test("a false extension is told, and the content counts", () => {
  const found = inspect(Uint8Array.from(png(40, 30)), "sheet.JPG");
  assert.equal(found.content_type, "image/png");
  assert.match(found.warnings[0], /named \.jpg but holds a PNG/);
});

test("200 megapixels are kept without a thumbnail", () => {
  const found = inspect(Uint8Array.from(jpeg(20_000, 10_000)), "large.jpg");
  assert.equal(found.makesThumbnail, false);
  assert.match(found.warnings[0], /200 megapixels/);
});

test("what is no photograph is refused with a sentence", () => {
  const page = Uint8Array.from(text("<!doctype html><title>No</title>"));
  assert.throws(() => inspect(page, "sheet.jpg"), /not a photograph that Fieldleaf knows/);
  assert.throws(() => inspect(new Uint8Array(0), "sheet.jpg"), /empty/);
});

