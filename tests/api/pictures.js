// Pictures for the tests, made here: as a phone writes them, with where it was.
'use strict';

const SECRET = '48.2082N 16.3738E';
const text = (string) => Buffer.from(string, 'latin1');
const segment = (marker, ...parts) => {
  const body = Buffer.concat(parts.map((part) => Buffer.from(part)));
  const length = body.length + 2;
  return Buffer.concat([Buffer.from([0xff, marker, length >> 8, length & 255]), body]);
};

// EXIF with an orientation and a GPS directory (EXIF 2.3, section 4.6.6): latitude and longitude as degrees, and a comment.
function exif(orientation = 1) {
  const tiff = Buffer.alloc(140);
  tiff.write('MM\0*', 0, 'latin1');
  tiff.writeUInt32BE(8, 4);
  const entry = (at, tag, type, count, value) => { tiff.writeUInt16BE(tag, at); tiff.writeUInt16BE(type, at + 2); tiff.writeUInt32BE(count, at + 4); tiff.writeUInt32BE(value, at + 8); };
  tiff.writeUInt16BE(3, 8);
  entry(10, 0x010e, 2, SECRET.length + 1, 110);
  entry(22, 0x0112, 3, 1, orientation << 16);
  entry(34, 0x8825, 4, 1, 50);
  tiff.writeUInt16BE(2, 50);
  entry(52, 1, 2, 2, text('N\0\0\0').readUInt32BE(0));
  entry(64, 2, 5, 3, 82);
  [48, 1, 12, 1, 2952, 100].forEach((value, i) => tiff.writeUInt32BE(value, 82 + 4 * i));
  tiff.write(SECRET, 110, 'latin1');
  return segment(0xe1, text('Exif\0\0'), tiff);
}

// Puts what a phone adds into a JPEG: behind its first two bytes, and behind its end.
function asFromAPhone(jpeg, orientation = 1) {
  return Buffer.concat([jpeg.subarray(0, 2), exif(orientation), segment(0xe2, text(`ICC_PROFILE\0${SECRET}`)), segment(0xfe, text(SECRET)), jpeg.subarray(2), text(`film ${SECRET}`)]);
}

// Well formed as a file; nothing that could be looked at. 16 by 8 pixels.
function plainJpeg() { return jpegOf(Buffer.from([0x5a, 0x33])); }
const largeJpeg = (bytes) => jpegOf(Buffer.alloc(bytes, 0x5a));

function jpegOf(scan) {
  return Buffer.concat([Buffer.from([0xff, 0xd8]), segment(0xdb, [0], Buffer.alloc(64, 9)), segment(0xc0, [8, 0, 8, 0, 16, 1, 1, 0x11, 0]), segment(0xc4, [0x10, 1], Buffer.alloc(15), [0]),
    segment(0xda, [1, 1, 0, 0, 63, 0]), scan, Buffer.from([0xff, 0xd9])]);
}

// What an attentive reader would look for in one that came out.
function telltales(bytes) {
  return [SECRET, '48.2082', 'ICC_PROFILE', 'film'].filter((one) => bytes.includes(text(one))).concat(bytes.includes(Buffer.from([0x88, 0x25])) ? ['a GPS directory'] : []);
}

module.exports = { asFromAPhone, exif, largeJpeg, plainJpeg, segment, telltales, SECRET };
