#include "daemon/courier/utf8.h"

/* The table of RFC 3629 section 4: what may follow a first byte. No overlong forms, no surrogates, nothing over U+10FFFF. */
static const struct form {
    unsigned char first_from, first_to;
    unsigned char second_from, second_to;
    size_t length;
} forms[] = {
    {0x01, 0x7F, 0, 0, 1},
    {0xC2, 0xDF, 0x80, 0xBF, 2},
    {0xE0, 0xE0, 0xA0, 0xBF, 3}, {0xE1, 0xEC, 0x80, 0xBF, 3}, {0xED, 0xED, 0x80, 0x9F, 3}, {0xEE, 0xEF, 0x80, 0xBF, 3},
    {0xF0, 0xF0, 0x90, 0xBF, 4}, {0xF1, 0xF3, 0x80, 0xBF, 4}, {0xF4, 0xF4, 0x80, 0x8F, 4},
};

static const struct form *find_form(unsigned char first)
{
    for (size_t i = 0; i < sizeof forms / sizeof *forms; i++)
        if (first >= forms[i].first_from && first <= forms[i].first_to)
            return &forms[i];
    return NULL;
}

static bool fits(const struct form *form, const unsigned char *bytes, size_t left)
{
    if (form == NULL || form->length > left)
        return false;
    if (form->length > 1 && (bytes[1] < form->second_from || bytes[1] > form->second_to))
        return false;
    for (size_t i = 2; i < form->length; i++)
        if (bytes[i] < 0x80 || bytes[i] > 0xBF)
            return false;
    return true;
}

bool utf8_is_text(const unsigned char *bytes, size_t length)
{
    for (size_t at = 0; at < length;) {
        const struct form *form = find_form(bytes[at]);
        if (!fits(form, bytes + at, length - at))
            return false;
        at += form->length;
    }
    return true;
}
