#include "coat/result.h"

#include <stdarg.h>
#include <stddef.h>
#include <string.h>

static const char *const result_texts[COAT_RESULT_COUNT] = {
#define X(code, text) [code] = (text),
    COAT_RESULTS(X)
#undef X
};

const char *coat_result_text(enum coat_result code)
{
    return (size_t)code < (size_t)COAT_RESULT_COUNT ? result_texts[code] : "unknown result";
}

/* Drops what a cut left of a UTF-8 character at the end, so that the text can always be sent as JSON. */
static void trim_cut_character(char *text, size_t length)
{
    size_t start = length;
    while (start > 0 && ((unsigned char)text[start - 1] & 0xC0u) == 0x80u)
        start--;
    if (start > 0 && ((unsigned char)text[start - 1] & 0xC0u) == 0xC0u)
        text[start - 1] = '\0';
}

enum coat_result coat_fail(struct coat_error *error, enum coat_result code, const char *field, const char *format, ...)
{
    if (error == NULL)
        return code;
    error->code = code;
    error->has_range = false;
    snprintf(error->field, sizeof error->field, "%s", field != NULL ? field : "");
    va_list arguments;
    va_start(arguments, format);
    int wanted = vsnprintf(error->text, sizeof error->text, format, arguments);
    va_end(arguments);
    if (wanted < 0)
        snprintf(error->text, sizeof error->text, "%s", coat_result_text(code));
    else if ((size_t)wanted >= sizeof error->text)
        trim_cut_character(error->text, sizeof error->text - 1);
    return code;
}

enum coat_result coat_fail_range(struct coat_error *error, const char *field, const char *name, struct coat_range range)
{
    enum coat_result result = coat_fail(error, COAT_BAD_VALUE, field, "%s is %.10g: it must be from %.10g to %.10g", name, range.value, range.least, range.most);
    if (error == NULL)
        return result;
    error->has_range = true;
    error->range = range;
    return result;
}
