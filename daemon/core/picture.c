#include "coat/picture.h"

#include <string.h>

static const char *const types[PICTURE_KIND_COUNT] = {[PICTURE_JPEG] = "image/jpeg", [PICTURE_PNG] = "image/png"};

const char *picture_kind_type(enum picture_kind kind)
{
    return types[kind];
}

bool picture_kind_from_type(const char *type, enum picture_kind *ret)
{
    for (unsigned i = 0; i < PICTURE_KIND_COUNT; i++) {
        if (strcmp(type, types[i]) == 0) {
            *ret = (enum picture_kind)i;
            return true;
        }
    }
    return false;
}

/* The file as it is read, and the one that is written. */
struct strip {
    const uint8_t *in;
    size_t length, at;
    uint8_t *out;
    size_t size;
    struct picture *picture;
    struct coat_error *error;
    unsigned components;                /* of the frame; 0: none yet */
    uint8_t component[3];               /* their numbers */
    bool rgb, scanned;                  /* the colours are not transformed; a scan has come */
};

static enum coat_result broken(struct strip *s, const char *why)
{
    return coat_fail(s->error, COAT_BAD_VALUE, "", "the picture is not usable: %s (at byte %zu); take it again, or save it anew as JPEG", why, s->at + 1);
}

static unsigned two(const uint8_t *bytes)
{
    return (unsigned)bytes[0] << 8 | bytes[1];
}

static uint32_t four(const uint8_t *bytes)
{
    return (uint32_t)two(bytes) << 16 | two(bytes + 2);
}

static bool put(struct strip *s, const void *bytes, size_t length)
{
    if (length > s->size - s->picture->length)
        return false;
    memcpy(s->out + s->picture->length, bytes, length);
    s->picture->length += length;
    return true;
}

static enum coat_result set_size(struct strip *s, uint32_t width, uint32_t height)
{
    if (width == 0 || height == 0)
        return broken(s, "it has no width or no height");
    if (width > PICTURE_SIDE_MAX || height > PICTURE_SIDE_MAX || (uint64_t)width * height > PICTURE_PIXELS_MAX)
        return broken(s, "it has too many pixels: at most 16384 on a side and 64 million in all");
    s->picture->width = width;
    s->picture->height = height;
    return COAT_OK;
}

/* ---- JPEG: segments ---- */

enum { M_SOF0 = 0xC0, M_SOF2 = 0xC2, M_DHT = 0xC4, M_RST0 = 0xD0, M_RST7 = 0xD7, M_SOI = 0xD8, M_EOI = 0xD9, M_SOS = 0xDA, M_DQT = 0xDB, M_DRI = 0xDD,
       M_APP0 = 0xE0, M_APP1 = 0xE1, M_APP14 = 0xEE, M_APP15 = 0xEF, M_COM = 0xFE };

/* The body of the segment that is read, without marker and length. */
struct segment {
    uint8_t marker;
    const uint8_t *body;
    size_t length;
};

static enum coat_result put_segment(struct strip *s, uint8_t marker, const void *body, size_t length)
{
    const uint8_t head[4] = {0xFF, marker, (uint8_t)((length + 2) >> 8), (uint8_t)((length + 2) & 0xFF)};
    return put(s, head, sizeof head) && put(s, body, length) ? COAT_OK : broken(s, "there is no room for it");
}

static enum coat_result keep(struct strip *s, const struct segment *segment)
{
    return put_segment(s, segment->marker, segment->body, segment->length);
}

/* T.81, B.2.4.1: tables of 64 values of 1 or 2 bytes, nothing behind them. */
static enum coat_result keep_quantisation(struct strip *s, const struct segment *segment)
{
    for (size_t at = 0; at < segment->length;) {
        unsigned precision = segment->body[at] >> 4, number = segment->body[at] & 15;
        size_t wants = precision == 0 ? 65 : 129;
        if (precision > 1 || number > 3 || wants > segment->length - at)
            return broken(s, "a quantisation table is ill formed");
        at += wants;
    }
    return segment->length > 0 ? keep(s, segment) : broken(s, "a quantisation table is empty");
}

/* T.81, B.2.4.2: 16 counts, then as many values. */
static enum coat_result keep_huffman(struct strip *s, const struct segment *segment)
{
    for (size_t at = 0; at < segment->length;) {
        size_t values = 0, left = segment->length - at;
        if (left < 17 || segment->body[at] >> 4 > 1 || (segment->body[at] & 15) > 3)
            return broken(s, "a Huffman table is ill formed");
        for (size_t i = 1; i <= 16; i++)
            values += segment->body[at + i];
        if (values > 256 || values > left - 17)
            return broken(s, "a Huffman table is ill formed");
        at += 17 + values;
    }
    return segment->length > 0 ? keep(s, segment) : broken(s, "a Huffman table is empty");
}

static enum coat_result keep_interval(struct strip *s, const struct segment *segment)
{
    return segment->length == 2 ? keep(s, segment) : broken(s, "its restart interval is ill formed");
}

/* T.81, B.2.2: one frame, before any scan. */
static enum coat_result keep_frame(struct strip *s, const struct segment *segment)
{
    const uint8_t *body = segment->body;
    if (s->components > 0)
        return broken(s, "it has more than one frame");
    if (segment->length < 6 || segment->length != 6 + 3u * body[5])
        return broken(s, "the head of its frame is ill formed");
    if (body[0] != 8 || (body[5] != 1 && body[5] != 3))
        return broken(s, "only pictures in grey or three colours of 8 bits are taken");
    for (unsigned i = 0; i < body[5]; i++) {
        const uint8_t *component = body + 6 + 3 * i;
        unsigned across = component[1] >> 4, down = component[1] & 15;
        if (across < 1 || across > 4 || down < 1 || down > 4 || component[2] > 3)
            return broken(s, "the head of its frame is ill formed");
        s->component[i] = component[0];
    }
    s->components = body[5];
    enum coat_result result = set_size(s, two(body + 3), two(body + 1));
    return result == COAT_OK ? keep(s, segment) : result;
}

static bool has_component(const struct strip *s, uint8_t number)
{
    for (unsigned i = 0; i < s->components; i++)
        if (s->component[i] == number)
            return true;
    return false;
}

/* Entropy-coded data up to the next marker that is none of its own (T.81, B.1.1.5). */
static enum coat_result keep_data(struct strip *s)
{
    size_t from = s->at;
    while (s->at + 1 < s->length) {
        const uint8_t *found = memchr(s->in + s->at, 0xFF, s->length - 1 - s->at);
        if (found == NULL)
            break;
        s->at = (size_t)(found - s->in);
        uint8_t next = found[1];
        if (next != 0x00 && next != 0xFF && (next < M_RST0 || next > M_RST7)) {
            if (s->at == from)
                return broken(s, "a scan is empty");
            return put(s, s->in + from, s->at - from) ? COAT_OK : broken(s, "there is no room for it");
        }
        s->at += next == 0xFF ? 1 : 2; /* FF FF: a fill byte before a marker */
    }
    s->at = s->length;
    return broken(s, "it is cut short");
}

/* T.81, B.2.3. */
static enum coat_result keep_scan(struct strip *s, const struct segment *segment)
{
    const uint8_t *body = segment->body;
    if (s->components == 0)
        return broken(s, "a scan comes before its frame");
    if (segment->length < 4 || body[0] < 1 || body[0] > s->components || segment->length != 4 + 2u * body[0])
        return broken(s, "the head of a scan is ill formed");
    for (unsigned i = 0; i < body[0]; i++)
        if (!has_component(s, body[1 + 2 * i]) || (body[2 + 2 * i] >> 4) > 3 || (body[2 + 2 * i] & 15) > 3)
            return broken(s, "the head of a scan is ill formed");
    s->scanned = true;
    enum coat_result result = keep(s, segment);
    return result == COAT_OK ? keep_data(s) : result;
}

/* ---- JPEG: what is only looked at ---- */

struct tiff {
    const uint8_t *bytes;
    size_t length;
    bool little;
};

static unsigned tiff_two(const struct tiff *t, size_t at)
{
    return t->little ? (unsigned)t->bytes[at + 1] << 8 | t->bytes[at] : two(t->bytes + at);
}

static uint32_t tiff_four(const struct tiff *t, size_t at)
{
    return t->little ? (uint32_t)tiff_two(t, at + 2) << 16 | tiff_two(t, at) : four(t->bytes + at);
}

#define TAG_ORIENTATION 0x0112
#define TYPE_SHORT 3

/* The orientation of the first directory; 1 where none is told, or what is there cannot be read: then it is no reason to refuse the picture. */
static unsigned orientation_of(const uint8_t *bytes, size_t length)
{
    struct tiff t = {bytes, length, length >= 2 && bytes[0] == 'I'};
    if (length < 14 || (memcmp(bytes, "II*\0", 4) != 0 && memcmp(bytes, "MM\0*", 4) != 0))
        return 1;
    size_t at = tiff_four(&t, 4);
    if (at > length - 2)
        return 1;
    unsigned entries = tiff_two(&t, at);
    for (at += 2; entries > 0 && at <= length && length - at >= 12; entries--, at += 12) {
        unsigned value = tiff_two(&t, at + 8);
        if (tiff_two(&t, at) == TAG_ORIENTATION && tiff_two(&t, at + 2) == TYPE_SHORT && tiff_four(&t, at + 4) == 1)
            return value >= 1 && value <= 8 ? value : 1;
    }
    return 1;
}

static enum coat_result look_at_exif(struct strip *s, const struct segment *segment)
{
    if (segment->length > 6 && memcmp(segment->body, "Exif\0\0", 6) == 0 && s->picture->orientation == 1)
        s->picture->orientation = orientation_of(segment->body + 6, segment->length - 6);
    return COAT_OK;
}

#define TRANSFORM_NAME 'A', 'd', 'o', 'b', 'e' /* as the standard wants the segment to begin */
static const uint8_t transform_name[] = {TRANSFORM_NAME};

/* ITU-T T.872, section 6.5.3: whether three colours are transformed. Without it a picture in RGB would be shown in wrong ones. */
static enum coat_result look_at_transform(struct strip *s, const struct segment *segment)
{
    if (segment->length >= 12 && memcmp(segment->body, transform_name, sizeof transform_name) == 0)
        s->rgb = segment->body[11] == 0;
    return COAT_OK;
}

static enum coat_result leave(struct strip *s, const struct segment *segment)
{
    (void)s;
    (void)segment;
    return COAT_OK;
}

typedef enum coat_result (*segment_step)(struct strip *s, const struct segment *segment);

static segment_step step_for(uint8_t marker)
{
    static const struct {
        uint8_t first, last;
        segment_step step;
    } rows[] = {
        {M_SOF0, M_SOF2, keep_frame}, {M_DHT, M_DHT, keep_huffman}, {M_SOS, M_SOS, keep_scan}, {M_DQT, M_DQT, keep_quantisation}, {M_DRI, M_DRI, keep_interval},
        {M_APP1, M_APP1, look_at_exif}, {M_APP14, M_APP14, look_at_transform}, {M_APP0, M_APP15, leave}, {M_COM, M_COM, leave},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        if (marker >= rows[i].first && marker <= rows[i].last)
            return rows[i].step;
    return NULL;
}

/* The next marker, past fill bytes (T.81, B.1.1.2). */
static enum coat_result next_marker(struct strip *s, uint8_t *ret)
{
    if (s->at >= s->length)
        return broken(s, "it is cut short");
    if (s->in[s->at] != 0xFF)
        return broken(s, "something stands between its parts");
    while (s->at < s->length && s->in[s->at] == 0xFF)
        s->at++;
    if (s->at >= s->length)
        return broken(s, "it is cut short");
    *ret = s->in[s->at++];
    return COAT_OK;
}

static enum coat_result next_segment(struct strip *s, struct segment *ret)
{
    enum coat_result result = next_marker(s, &ret->marker);
    if (result != COAT_OK || ret->marker == M_EOI)
        return result;
    if (step_for(ret->marker) == NULL)
        return broken(s, "it holds a part that no camera writes");
    if (s->length - s->at < 2)
        return broken(s, "it is cut short");
    size_t length = two(s->in + s->at);
    if (length < 2)
        return broken(s, "a part of it has no length");
    if (length > s->length - s->at)
        return broken(s, "it is cut short");
    ret->body = s->in + s->at + 2;
    ret->length = length - 2;
    s->at += length;
    return COAT_OK;
}

/* ---- JPEG: two passes: the heads that are written first say what only a later segment tells ---- */

static enum coat_result walk_segments(struct strip *s, bool heads_only)
{
    struct segment segment = {0};
    s->at = 2;
    for (;;) {
        enum coat_result result = next_segment(s, &segment);
        if (result != COAT_OK || segment.marker == M_EOI || (heads_only && segment.marker == M_SOS))
            return result;
        segment_step step = step_for(segment.marker);
        bool looks = step == look_at_exif || step == look_at_transform;
        if (looks == heads_only)
            result = step(s, &segment);
        if (result != COAT_OK)
            return result;
    }
}

static enum coat_result put_heads(struct strip *s)
{
    static const uint8_t start[] = {0xFF, M_SOI};
    static const uint8_t jfif[] = {'J', 'F', 'I', 'F', 0, 1, 2, 0, 0, 1, 0, 1, 0, 0};
    static const uint8_t no_transform[12] = {TRANSFORM_NAME, 0, 100};
    const uint8_t exif[] = {'E', 'x', 'i', 'f', 0, 0, 'M', 'M', 0, '*', 0, 0, 0, 8, 0, 1, TAG_ORIENTATION >> 8, TAG_ORIENTATION & 0xFF, 0, TYPE_SHORT, 0, 0, 0, 1,
                            0, (uint8_t)s->picture->orientation, 0, 0, 0, 0, 0, 0};
    enum coat_result result = put(s, start, sizeof start) ? COAT_OK : broken(s, "there is no room for it");
    if (result == COAT_OK)
        result = s->rgb ? put_segment(s, M_APP14, no_transform, sizeof no_transform) : put_segment(s, M_APP0, jfif, sizeof jfif); /* JFIF is never RGB */
    if (result == COAT_OK && s->picture->orientation != 1)
        result = put_segment(s, M_APP1, exif, sizeof exif);
    return result;
}

static enum coat_result strip_jpeg(struct strip *s)
{
    static const uint8_t end[] = {0xFF, M_EOI};
    s->picture->kind = PICTURE_JPEG;
    enum coat_result result = walk_segments(s, true);
    if (result == COAT_OK)
        result = put_heads(s);
    if (result == COAT_OK)
        result = walk_segments(s, false);
    if (result != COAT_OK)
        return result;
    if (!s->scanned)
        return broken(s, "it shows nothing");
    return put(s, end, sizeof end) ? COAT_OK : broken(s, "there is no room for it");
}

/* ---- PNG ---- */

static const uint8_t png_signature[8] = {0x89, 'P', 'N', 'G', '\r', '\n', 0x1A, '\n'};

/* ISO/IEC 15948, annex D, by half bytes. */
static uint32_t crc_of(const uint8_t *bytes, size_t length)
{
    static const uint32_t step[16] = {0x00000000, 0x1DB71064, 0x3B6E20C8, 0x26D930AC, 0x76DC4190, 0x6B6B51F4, 0x4DB26158, 0x5005713C,
                                      0xEDB88320, 0xF00F9344, 0xD6D6A3E8, 0xCB61B38C, 0x9B64C2B0, 0x86D3D2D4, 0xA00AE278, 0xBDBDF21C};
    uint32_t crc = 0xFFFFFFFF;
    for (size_t i = 0; i < length; i++) {
        crc ^= bytes[i];
        crc = crc >> 4 ^ step[crc & 15];
        crc = crc >> 4 ^ step[crc & 15];
    }
    return ~crc;
}

/* Which depths go with which kind of colour (ISO/IEC 15948, table 11.1). */
static bool is_png_colour(uint8_t depth, uint8_t colour)
{
    static const uint8_t depths[7] = {[0] = 1 | 2 | 4 | 8 | 16, [2] = 8 | 16, [3] = 1 | 2 | 4 | 8, [4] = 8 | 16, [6] = 8 | 16};
    bool one_bit = depth != 0 && (depth & (depth - 1)) == 0;
    return one_bit && colour < sizeof depths && (depths[colour] & depth) != 0;
}

static enum coat_result check_png_head(struct strip *s, const uint8_t *body, size_t length)
{
    if (length != 13 || !is_png_colour(body[8], body[9]) || body[10] != 0 || body[11] != 0 || body[12] > 1)
        return broken(s, "its head is ill formed");
    s->components = 1;
    return set_size(s, four(body), four(body + 4));
}

struct chunk {
    const uint8_t *start; /* its length, name, body and sum */
    const uint8_t *name, *body;
    size_t length;
};

static enum coat_result next_chunk(struct strip *s, struct chunk *ret)
{
    size_t left = s->length - s->at;
    if (left < 12)
        return broken(s, "it is cut short");
    *ret = (struct chunk){.start = s->in + s->at, .name = s->in + s->at + 4, .body = s->in + s->at + 8, .length = four(s->in + s->at)};
    if (ret->length > left - 12)
        return broken(s, "it is cut short");
    if (crc_of(ret->name, ret->length + 4) != four(ret->body + ret->length))
        return broken(s, "a part of it is damaged");
    s->at += ret->length + 12;
    return COAT_OK;
}

static bool is_named(const struct chunk *chunk, const char *name)
{
    return memcmp(chunk->name, name, 4) == 0;
}

static bool is_shown(const struct chunk *chunk)
{
    return is_named(chunk, "IHDR") || is_named(chunk, "PLTE") || is_named(chunk, "tRNS") || is_named(chunk, "IDAT") || is_named(chunk, "IEND");
}

/* A small letter first: it can be shown without (ISO/IEC 15948, section 5.4). */
static bool may_be_left(const struct chunk *chunk)
{
    return (chunk->name[0] & 0x20) != 0;
}

static enum coat_result strip_chunk(struct strip *s, const struct chunk *chunk)
{
    bool is_head = is_named(chunk, "IHDR");
    if (is_head != (s->components == 0))
        return broken(s, "its head is not where it must be");
    if (!is_shown(chunk))
        return may_be_left(chunk) ? COAT_OK : broken(s, "it holds a part that no camera writes");
    if (is_named(chunk, "PLTE") && (chunk->length == 0 || chunk->length > 768 || chunk->length % 3 != 0))
        return broken(s, "its palette is ill formed");
    if (is_named(chunk, "tRNS") && chunk->length > 256)
        return broken(s, "its transparency is ill formed");
    if (is_named(chunk, "IEND") && chunk->length != 0)
        return broken(s, "its end is ill formed");
    s->scanned = s->scanned || (is_named(chunk, "IDAT") && chunk->length > 0);
    enum coat_result result = is_head ? check_png_head(s, chunk->body, chunk->length) : COAT_OK;
    if (result != COAT_OK)
        return result;
    return put(s, chunk->start, chunk->length + 12) ? COAT_OK : broken(s, "there is no room for it");
}

static enum coat_result strip_png(struct strip *s)
{
    struct chunk chunk = {0};
    s->picture->kind = PICTURE_PNG;
    s->at = sizeof png_signature;
    if (!put(s, png_signature, sizeof png_signature))
        return broken(s, "there is no room for it");
    do {
        enum coat_result result = next_chunk(s, &chunk);
        if (result == COAT_OK)
            result = strip_chunk(s, &chunk);
        if (result != COAT_OK)
            return result;
    } while (!is_named(&chunk, "IEND"));
    return s->scanned ? COAT_OK : broken(s, "it shows nothing");
}

enum coat_result picture_strip(const uint8_t *bytes, size_t length, uint8_t *out, size_t size, struct picture *ret, struct coat_error *error)
{
    struct picture picture = {.orientation = 1};
    struct strip s = {.in = bytes, .length = length, .out = out, .size = size, .picture = &picture, .error = error};
    enum coat_result result;
    if (length > PICTURE_BYTES_MAX)
        return coat_fail(error, COAT_TOO_LARGE, "", "the picture has %zu bytes: at most 4 MiB are taken; make it smaller", length);
    if (length >= 2 && bytes[0] == 0xFF && bytes[1] == M_SOI)
        result = strip_jpeg(&s);
    else if (length >= sizeof png_signature && memcmp(bytes, png_signature, sizeof png_signature) == 0)
        result = strip_png(&s);
    else
        return coat_fail(error, COAT_BAD_VALUE, "", "this is no JPEG and no PNG: take the photo again, or save it as JPEG");
    if (result == COAT_OK)
        *ret = picture;
    return result;
}
