/* A strict look at JSON from outside before a lenient parser reads it: the grammar of RFC 8259, well-formed UTF-8, and bounds on size, depth, names, lists
 * and numbers. Refuses what parsers disagree about: repeated names in one object, escaped NULs, lone surrogates, a byte order mark, text after the value. */
#ifndef COAT_JSON_SCAN_H
#define COAT_JSON_SCAN_H

#include <stdbool.h>
#include <stddef.h>

#define JSON_SCAN_DEPTH_MAX 8
#define JSON_SCAN_NAMES_MAX 64        /* in one object */
#define JSON_SCAN_NAME_BYTES_MAX 64   /* decoded */
#define JSON_SCAN_VALUES_MAX 100000   /* in all: 20000 readings of three members fit */
#define JSON_SCAN_NUMBER_CHARS_MAX 40
#define JSON_SCAN_NUMBER_MAX 1e15     /* whole numbers to here are exact in a double */

struct json_scan_fault {
    size_t at;       /* byte at which it is seen, from 0 */
    const char *why; /* static text, reads on after "the JSON is not usable: " */
};

/* Whether the `length` bytes are one usable JSON value of at most `size_max` bytes. Nothing behind them is read. */
bool json_scan(const char *text, size_t length, size_t size_max, struct json_scan_fault *ret_fault);

#endif
