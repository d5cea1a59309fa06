/* Given a picture as a phone writes it, then what shows it comes through and nothing that tells where, when or whose; given one that was cut or damaged,
 * then it is refused or comes through as clean, and nothing beside it is read. COAT_SEED=n repeats a run. */
#include "coat/picture.h"
#include "tests/unit/seed.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#define FILE_MAX 4096
#define SECRET "48.2082N 16.3738E"

struct file {
    uint8_t byte[FILE_MAX];
    size_t length;
};

static void add(struct file *file, const void *bytes, size_t length)
{
    assert_true(length <= FILE_MAX - file->length);
    memcpy(file->byte + file->length, bytes, length);
    file->length += length;
}

static void add_segment(struct file *file, uint8_t marker, const void *body, size_t length)
{
    const uint8_t head[4] = {0xFF, marker, (uint8_t)((length + 2) >> 8), (uint8_t)(length + 2)};
    add(file, head, sizeof head);
    add(file, body, length);
}

/* ---- JPEG, as far as this reads it ---- */

/* One directory: the maker's text, the orientation, and a pointer to where it was. */
static void add_exif(struct file *file, unsigned orientation, bool little)
{
    static const uint8_t big[] = {'E', 'x', 'i', 'f', 0, 0, 'M', 'M', 0, '*', 0, 0, 0, 8, 0, 2, 0x88, 0x25, 0, 4, 0, 0, 0, 1, 0, 0, 0, 38,
                                  1, 0x12, 0, 3, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0, 0};
    static const uint8_t small[] = {'E', 'x', 'i', 'f', 0, 0, 'I', 'I', '*', 0, 8, 0, 0, 0, 2, 0, 0x25, 0x88, 4, 0, 1, 0, 0, 0, 38, 0, 0, 0,
                                    0x12, 1, 3, 0, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0};
    uint8_t body[sizeof big + sizeof SECRET];
    memcpy(body, little ? small : big, sizeof big);
    body[little ? 36 : 37] = (uint8_t)orientation;
    memcpy(body + sizeof big, SECRET, sizeof SECRET);
    add_segment(file, 0xE1, body, sizeof body);
}

static void add_tables(struct file *file)
{
    uint8_t quantisation[65] = {0}, huffman[17 + 2] = {0x10, 1, 1};
    memset(quantisation + 1, 9, 64);
    add_segment(file, 0xDB, quantisation, sizeof quantisation);
    add_segment(file, 0xC4, huffman, sizeof huffman);
}

static void add_frame(struct file *file, uint8_t marker, uint16_t width, uint16_t height)
{
    const uint8_t frame[] = {8, (uint8_t)(height >> 8), (uint8_t)height, (uint8_t)(width >> 8), (uint8_t)width, 3, 1, 0x22, 0, 2, 0x11, 0, 3, 0x11, 0};
    add_segment(file, marker, frame, sizeof frame);
}

static void add_scan(struct file *file)
{
    static const uint8_t scan[] = {3, 1, 0, 2, 0x11, 3, 0x11, 0, 63, 0}, data[] = {0x5A, 0xFF, 0x00, 0x33, 0xFF, 0xD0, 0x44, 0xFF, 0x00, 0x77};
    add_segment(file, 0xDA, scan, sizeof scan);
    add(file, data, sizeof data);
}

static struct file photo(unsigned orientation, bool little)
{
    static const uint8_t jfif[] = {'J', 'F', 'I', 'F', 0, 1, 1, 1, 0, 72, 0, 72, 1, 1, 'x', 'y', 'z'}; /* with a small second picture */
    struct file file = {.length = 0};
    add(&file, "\xFF\xD8", 2);
    add_segment(&file, 0xE0, jfif, sizeof jfif);
    add_exif(&file, orientation, little);
    add_segment(&file, 0xE2, "ICC_PROFILE " SECRET, sizeof "ICC_PROFILE " SECRET);
    add_segment(&file, 0xFE, SECRET, sizeof SECRET);
    add_tables(&file);
    add_frame(&file, 0xC0, 640, 480);
    add_scan(&file);
    add(&file, "\xFF\xFF\xFE\x00\x06" "abcd", 9); /* a fill byte and a comment between two scans */
    add_scan(&file);
    add(&file, "\xFF\xD9", 2);
    add(&file, "ftypmp42 " SECRET, sizeof "ftypmp42 " SECRET); /* a film behind the picture */
    return file;
}

/* ---- PNG ---- */

static uint32_t crc_by_the_bit(const uint8_t *bytes, size_t length)
{
    uint32_t crc = 0xFFFFFFFF;
    for (size_t i = 0; i < length; i++) {
        crc ^= bytes[i];
        for (int bit = 0; bit < 8; bit++)
            crc = crc & 1 ? crc >> 1 ^ 0xEDB88320 : crc >> 1;
    }
    return ~crc;
}

static void add_chunk(struct file *file, const char *name, const void *body, size_t length)
{
    size_t from = file->length + 4;
    const uint8_t head[8] = {0, 0, (uint8_t)(length >> 8), (uint8_t)length, (uint8_t)name[0], (uint8_t)name[1], (uint8_t)name[2], (uint8_t)name[3]};
    add(file, head, sizeof head);
    add(file, body, length);
    uint32_t crc = crc_by_the_bit(file->byte + from, length + 4);
    const uint8_t sum[4] = {(uint8_t)(crc >> 24), (uint8_t)(crc >> 16), (uint8_t)(crc >> 8), (uint8_t)crc};
    add(file, sum, sizeof sum);
}

static struct file drawing(void)
{
    static const uint8_t head[13] = {0, 0, 1, 0, 0, 0, 0, 200, 8, 2, 0, 0, 0};
    struct file file = {.length = 0};
    add(&file, "\x89PNG\r\n\x1A\n", 8);
    add_chunk(&file, "IHDR", head, sizeof head);
    add_chunk(&file, "tEXt", "Comment\0" SECRET, 8 + sizeof SECRET);
    add_chunk(&file, "eXIf", "MM\0*" SECRET, 4 + sizeof SECRET);
    add_chunk(&file, "IDAT", "0123456789", 10);
    add_chunk(&file, "IDAT", "more of it", 10);
    add_chunk(&file, "IEND", "", 0);
    add(&file, SECRET, sizeof SECRET);
    return file;
}

/* ---- what comes of one ---- */

/* In memory of exactly its size, so that a sanitizer sees a byte too far. */
static enum coat_result stripped(const uint8_t *bytes, size_t length, struct file *ret, struct picture *picture, struct coat_error *error)
{
    size_t room = length + PICTURE_ROOM;
    uint8_t *in = malloc(length > 0 ? length : 1), *out = malloc(room);
    assert_true(in != NULL && out != NULL);
    memcpy(in, bytes, length);
    enum coat_result result = picture_strip(in, length, out, room, picture, error);
    if (result == COAT_OK) {
        assert_true(picture->length <= room && picture->length <= FILE_MAX);
        ret->length = picture->length;
        memcpy(ret->byte, out, picture->length);
    }
    free(in);
    free(out);
    return result;
}

static bool tells(const struct file *file, const char *text)
{
    return memmem(file->byte, file->length, text, strlen(text)) != NULL;
}

static void assert_clean(const struct file *file)
{
    static const char *const others[] = {SECRET, "2082", "ICC", "ftyp", "xyz", "abcd", "tEXt", "eXIf"};
    for (size_t i = 0; i < sizeof others / sizeof *others; i++)
        assert_false(tells(file, others[i]));
}

static void a_photo_loses_all_but_the_picture_and_which_way_is_up(void **state)
{
    (void)state;
    for (unsigned orientation = 0; orientation <= 9; orientation++) {
        struct file file = photo(orientation, orientation % 2 == 0), clean, again;
        struct picture picture, second;
        struct coat_error error = {0};
        unsigned wants = orientation >= 1 && orientation <= 8 ? orientation : 1;
        assert_true(tells(&file, SECRET));
        assert_int_equal(stripped(file.byte, file.length, &clean, &picture, &error), COAT_OK);
        assert_clean(&clean);
        assert_true(picture.width == 640 && picture.height == 480 && picture.kind == PICTURE_JPEG);
        assert_int_equal(picture.orientation, wants);
        assert_int_equal(tells(&clean, "Exif"), wants != 1);
        assert_memory_equal(clean.byte, "\xFF\xD8\xFF\xE0", 4);
        assert_memory_equal(clean.byte + clean.length - 2, "\xFF\xD9", 2);
        assert_true(memmem(clean.byte, clean.length, "\x5A\xFF\x00\x33\xFF\xD0\x44\xFF\x00\x77", 10) != NULL);
        assert_int_equal(stripped(clean.byte, clean.length, &again, &second, &error), COAT_OK); /* twice is once */
        assert_true(second.orientation == wants && again.length == clean.length);
        assert_memory_equal(again.byte, clean.byte, clean.length);
    }
}

static void a_picture_in_rgb_stays_in_its_colours(void **state)
{
    (void)state;
    struct file file = {.length = 0}, clean;
    struct picture picture;
    struct coat_error error = {0};
    add(&file, "\xFF\xD8", 2);
    add_segment(&file, 0xEE, "Adobe\0\x64" SECRET, 11);
    file.byte[file.length - 1] = 0;
    add_segment(&file, 0xEE, "Adobe\0\x64\x80\0\0\0\0" SECRET, 12 + sizeof SECRET);
    add_tables(&file);
    add_frame(&file, 0xC2, 10, 10);
    add_scan(&file);
    add(&file, "\xFF\xD9", 2);
    assert_int_equal(stripped(file.byte, file.length, &clean, &picture, &error), COAT_OK);
    assert_memory_equal(clean.byte, "\xFF\xD8\xFF\xEE\x00\x0E" "Adobe\0\x64\0\0\0\0\0", 18);
    assert_false(tells(&clean, SECRET));
    assert_false(tells(&clean, "JFIF"));
}

static void a_drawing_loses_its_texts(void **state)
{
    (void)state;
    struct file file = drawing(), clean, again;
    struct picture picture;
    struct coat_error error = {0};
    assert_int_equal(stripped(file.byte, file.length, &clean, &picture, &error), COAT_OK);
    assert_clean(&clean);
    assert_true(picture.width == 256 && picture.height == 200 && picture.kind == PICTURE_PNG && picture.orientation == 1);
    assert_true(tells(&clean, "0123456789") && tells(&clean, "more of it"));
    assert_int_equal(stripped(clean.byte, clean.length, &again, &picture, &error), COAT_OK);
    assert_true(again.length == clean.length);
}

/* Where a picture is cut, but behind its end, it is refused. */
static void cut_anywhere_it_is_refused(void **state)
{
    (void)state;
    struct file whole[2] = {photo(6, true), drawing()};
    for (int k = 0; k < 2; k++) {
        const void *end = k == 0 ? memmem(whole[k].byte, whole[k].length, "\xFF\xD9", 2) : memmem(whole[k].byte, whole[k].length, "IEND", 4);
        size_t ends = (size_t)((const uint8_t *)end - whole[k].byte) + (k == 0 ? 2 : 8);
        for (size_t length = 0; length <= whole[k].length; length++) {
            struct file clean;
            struct picture picture;
            struct coat_error error = {0};
            enum coat_result result = stripped(whole[k].byte, length, &clean, &picture, &error);
            assert_int_equal(result == COAT_OK, length >= ends);
            assert_true(result == COAT_OK || strlen(error.text) > 20);
        }
    }
}

/* Bytes changed at random, and pieces doubled or taken out: nothing is read beside it, and what passes is clean and passes again unchanged. */
static void damaged_it_is_refused_or_comes_through_clean(void **state)
{
    (void)state;
    uint64_t seed = seed_start("picture");
    unsigned passed = 0, refused = 0;
    for (int run = 0; run < 60000; run++) {
        struct file file = run % 3 ? photo(1 + (unsigned)run % 8, run % 2 == 0) : drawing(), clean, again;
        struct picture picture, second;
        struct coat_error error = {0};
        for (uint64_t changes = 1 + seed_next(&seed) % 4; changes > 0; changes--)
            file.byte[seed_next(&seed) % file.length] = (uint8_t)(seed_next(&seed) % 3 ? seed_next(&seed) : 0xFF);
        size_t from = (size_t)(seed_next(&seed) % file.length), less = (size_t)(seed_next(&seed) % (file.length - from));
        if (seed_next(&seed) % 4 == 0) {
            memmove(file.byte + from, file.byte + from + less, file.length - from - less);
            file.length -= less;
        }
        if (stripped(file.byte, file.length, &clean, &picture, &error) != COAT_OK) {
            refused++;
            continue;
        }
        passed++;
        assert_true(picture.width > 0 && picture.height > 0 && (uint64_t)picture.width * picture.height <= PICTURE_PIXELS_MAX);
        assert_int_equal(stripped(clean.byte, clean.length, &again, &second, &error), COAT_OK);
        assert_true(again.length == clean.length && memcmp(again.byte, clean.byte, clean.length) == 0);
    }
    assert_true(passed > 1000 && refused > 1000);
}

/* ---- what is no picture ---- */

static void refuse(const struct file *file, const char *says)
{
    struct file clean;
    struct picture picture = {.length = 77};
    struct coat_error error = {0};
    assert_int_equal(stripped(file->byte, file->length, &clean, &picture, &error), COAT_BAD_VALUE);
    if (strstr(error.text, says) == NULL)
        fail_msg("\"%s\" does not say \"%s\"", error.text, says);
    assert_int_equal(picture.length, 77); /* untouched */
}

static void what_is_no_such_picture_is_told_so(void **state)
{
    (void)state;
    static const struct {
        uint16_t width, height;
        uint8_t frame;
        const char *says;
    } rows[] = {
        {0, 10, 0xC0, "no width"}, {10, 0, 0xC0, "no height"}, {20000, 10, 0xC0, "too many pixels"}, {16000, 16000, 0xC1, "too many pixels"},
        {10, 10, 0xC3, "no camera writes"}, {10, 10, 0xC9, "no camera writes"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct file file = {.length = 0};
        add(&file, "\xFF\xD8", 2);
        add_tables(&file);
        add_frame(&file, rows[i].frame, rows[i].width, rows[i].height);
        add_scan(&file);
        add(&file, "\xFF\xD9", 2);
        refuse(&file, rows[i].says);
    }
    struct file bare = {.length = 0}, early = {.length = 0}, twice = {.length = 0}, gif = {.length = 0};
    add(&bare, "\xFF\xD8\xFF\xD9", 4);
    refuse(&bare, "shows nothing");
    add(&early, "\xFF\xD8", 2);
    add_scan(&early);
    add(&early, "\xFF\xD9", 2);
    refuse(&early, "before its frame");
    add(&twice, "\xFF\xD8", 2);
    add_frame(&twice, 0xC0, 4, 4);
    add_frame(&twice, 0xC0, 4, 4);
    add_scan(&twice);
    add(&twice, "\xFF\xD9", 2);
    refuse(&twice, "more than one frame");
    add(&gif, "GIF89a", 6);
    refuse(&gif, "no JPEG and no PNG");
}

/* Parts that promise more than they hold, at the very end of the file: a sanitizer sees one byte too far. */
static void parts_that_promise_more_than_they_hold_are_not_believed(void **state)
{
    (void)state;
    struct file exif = {.length = 0}, table = {.length = 0}, scan = {.length = 0}, frame = {.length = 0};
    add(&exif, "\xFF\xD8", 2);
    add_segment(&exif, 0xE1, "Exif\0\0MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03", 20); /* the entry goes on behind the end */
    refuse(&exif, "cut short");
    add(&table, "\xFF\xD8", 2);
    add_frame(&table, 0xC0, 4, 4);
    add_scan(&table);
    add_segment(&table, 0xC4, "\x10\x01\0\0\0", 5);
    refuse(&table, "Huffman table is ill formed");
    add(&scan, "\xFF\xD8", 2);
    add_frame(&scan, 0xC0, 4, 4);
    add_segment(&scan, 0xDA, "", 0);
    refuse(&scan, "head of a scan is ill formed");
    add(&frame, "\xFF\xD8", 2);
    add_segment(&frame, 0xC0, "\x08\0\x04\0\x04\x03\x01", 7);
    add(&frame, "\xFF\xD9", 2);
    refuse(&frame, "head of its frame is ill formed");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_photo_loses_all_but_the_picture_and_which_way_is_up), cmocka_unit_test(a_picture_in_rgb_stays_in_its_colours),
        cmocka_unit_test(a_drawing_loses_its_texts), cmocka_unit_test(cut_anywhere_it_is_refused),
        cmocka_unit_test(damaged_it_is_refused_or_comes_through_clean), cmocka_unit_test(what_is_no_such_picture_is_told_so),
        cmocka_unit_test(parts_that_promise_more_than_they_hold_are_not_believed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
