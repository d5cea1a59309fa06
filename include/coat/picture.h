/* Pictures from phones: what is needed to show one is kept, and everything else is left behind. A phone writes into its pictures where it was (EXIF, ITU-T
 * T.81 application segments), who owns it, a small second picture, sometimes a film; a record that is handed on with a machine must tell none of that.
 *
 * JPEG (ITU-T T.81; JFIF; EXIF 2.3, section 4.6.4 for the orientation): quantisation and Huffman tables, restart interval, one frame (baseline, extended or
 * progressive, 8 bits, grey or three colours), scans, and the end. Written anew, without anything of what was there: a JFIF head, the colour transform of
 * segment APP14 (ITU-T T.872) where the three colours are RGB, and the orientation alone. The orientation is kept as a number from 1 to 8, because without it a
 * picture taken upright lies on its side, and turning its pixels would mean to decode and compress it again; it says nothing of place, time or owner.
 * Colour profiles go: they carry texts of their makers; the picture is shown as sRGB. PNG (ISO/IEC 15948): IHDR, PLTE, tRNS, IDAT, IEND.
 *
 * The compressed data is not decoded: a picture that passes is well formed as a file, and what it shows is for the browser. */
#ifndef COAT_PICTURE_H
#define COAT_PICTURE_H

#include "coat/result.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define PICTURE_BYTES_MAX (4u * 1024u * 1024u)
#define PICTURE_SIDE_MAX 16384          /* pixels */
#define PICTURE_PIXELS_MAX 64000000     /* so much a browser on a phone can still show */
#define PICTURE_ROOM 128                /* what is written anew may be longer by so much than what it stands for */

enum picture_kind { PICTURE_JPEG, PICTURE_PNG, PICTURE_KIND_COUNT };
const char *picture_kind_type(enum picture_kind kind); /* "image/jpeg" "image/png" */
bool picture_kind_from_type(const char *type, enum picture_kind *ret);

struct picture {
    enum picture_kind kind;
    uint32_t width, height;             /* as stored, before it is turned */
    unsigned orientation;               /* 1 to 8, as EXIF has it; 1: as stored */
    size_t length;                      /* bytes written */
};

/* Copies what shows the picture in bytes[0..length) to out[size], where size is at least length + PICTURE_ROOM. COAT_BAD_VALUE where it is no such
 * picture, is cut short or broken: *error says how; `out` may then be half written. */
COAT_CHECKED enum coat_result picture_strip(const uint8_t *bytes, size_t length, uint8_t *out, size_t size, struct picture *ret, struct coat_error *error);

#endif
