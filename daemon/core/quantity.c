/* Factors are exact by definition (inch 25.4 mm, pound 0.45359237 kg, US gallon 231 cubic inches); calendar days are 24 h. */
#include "coat/quantity.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

#define KELVIN 273.15
#define NUMBER_MAX 1e9
#define DIGITS_KEPT 15 /* so many digits and their power of ten are exact in a double, and so is nearly the quotient */
#define DECIMALS_KEPT 22
#define PIECE_SIZE 48

#define INCH_MM 25.4
#define INCH2_M2 (INCH_MM * INCH_MM * 1e-6)
#define FOOT3_M3 (0.3048 * 0.3048 * 0.3048)
#define FLOZ_ML 29.5735295625
#define OUNCE_G 28.349523125

/* base = (number + offset) * factor. An alias is read but not offered. */
struct unit {
    enum quantity kind;
    const char *name;
    double factor;
    double offset;
    bool alias;
};

static const struct unit units_table[] = {
    {QUANTITY_TEMPERATURE, "C", 1.0, 0.0, false},
    {QUANTITY_TEMPERATURE, "F", 1.0 / 1.8, -32.0, false},
    {QUANTITY_TEMPERATURE, "K", 1.0, -KELVIN, false},
    {QUANTITY_TEMPERATURE, "\u00b0C", 1.0, 0.0, true},
    {QUANTITY_TEMPERATURE, "\u00b0F", 1.0 / 1.8, -32.0, true},
    {QUANTITY_SHARE, "%", 1.0, 0.0, false},
    {QUANTITY_FILM, "um", 1.0, 0.0, false},
    {QUANTITY_FILM, "mil", INCH_MM, 0.0, false},
    {QUANTITY_FILM, "mm", 1000.0, 0.0, false},
    {QUANTITY_FILM, "\u00b5m", 1.0, 0.0, true}, /* micro sign */
    {QUANTITY_FILM, "\u03bcm", 1.0, 0.0, true}, /* Greek mu, which looks the same */
    {QUANTITY_VOLUME, "ml", 1.0, 0.0, false},
    {QUANTITY_VOLUME, "l", 1000.0, 0.0, false},
    {QUANTITY_VOLUME, "floz", FLOZ_ML, 0.0, false},
    {QUANTITY_VOLUME, "pt", 16.0 * FLOZ_ML, 0.0, false},
    {QUANTITY_VOLUME, "qt", 32.0 * FLOZ_ML, 0.0, false},
    {QUANTITY_VOLUME, "gal", 128.0 * FLOZ_ML, 0.0, false},
    {QUANTITY_MASS, "g", 1.0, 0.0, false},
    {QUANTITY_MASS, "kg", 1000.0, 0.0, false},
    {QUANTITY_MASS, "oz", OUNCE_G, 0.0, false},
    {QUANTITY_MASS, "lb", 16.0 * OUNCE_G, 0.0, false},
    {QUANTITY_LENGTH, "mm", 1.0, 0.0, false},
    {QUANTITY_LENGTH, "cm", 10.0, 0.0, false},
    {QUANTITY_LENGTH, "m", 1000.0, 0.0, false},
    {QUANTITY_LENGTH, "in", INCH_MM, 0.0, false},
    {QUANTITY_LENGTH, "ft", 12.0 * INCH_MM, 0.0, false},
    {QUANTITY_AREA, "cm2", 1e-4, 0.0, false},
    {QUANTITY_AREA, "m2", 1.0, 0.0, false},
    {QUANTITY_AREA, "in2", INCH2_M2, 0.0, false},
    {QUANTITY_AREA, "ft2", 144.0 * INCH2_M2, 0.0, false},
    {QUANTITY_ROOM, "l", 1e-3, 0.0, false},
    {QUANTITY_ROOM, "m3", 1.0, 0.0, false},
    {QUANTITY_ROOM, "ft3", FOOT3_M3, 0.0, false},
    {QUANTITY_AIRFLOW, "m3h", 1.0, 0.0, false},
    {QUANTITY_AIRFLOW, "m3min", 60.0, 0.0, false},
    {QUANTITY_AIRFLOW, "cfm", 60.0 * FOOT3_M3, 0.0, false},
    {QUANTITY_AIRFLOW, "lmin", 0.06, 0.0, false},
    {QUANTITY_DURATION, "s", 1.0, 0.0, false},
    {QUANTITY_DURATION, "min", 60.0, 0.0, false},
    {QUANTITY_DURATION, "h", 3600.0, 0.0, false},
    {QUANTITY_DURATION, "d", 86400.0, 0.0, false},
    {QUANTITY_ENERGY, "kJ/mol", 1.0, 0.0, false},
    {QUANTITY_TEMP_DIFF, "C", 1.0, 0.0, false},
    {QUANTITY_TEMP_DIFF, "F", 1.0 / 1.8, 0.0, false},
    {QUANTITY_TEMP_DIFF, "K", 1.0, 0.0, false},
    {QUANTITY_TEMP_DIFF, "\u00b0C", 1.0, 0.0, true},
    {QUANTITY_TEMP_DIFF, "\u00b0F", 1.0 / 1.8, 0.0, true},
    {QUANTITY_HEAT_TRANSFER, "W/m2K", 1.0, 0.0, false},
    {QUANTITY_CONCENTRATION, "ppm", 1.0, 0.0, false},
    {QUANTITY_CONCENTRATION, "%", 1e4, 0.0, false},
};
#define UNITS_IN_TABLE (sizeof units_table / sizeof *units_table)

/* What a person calls it, what is allowed, and an example that would do. */
static const struct {
    const char *article, *noun;
    const char *example;
    double low, high; /* in the base unit */
    const char *range;
} kinds[] = {
    [QUANTITY_TEMPERATURE] = {"a", "temperature", "18C or 64F", -KELVIN, HUGE_VAL, "-273.15C (absolute zero) or more"},
    [QUANTITY_SHARE] = {"a", "share", "55%", 0.0, 100.0, "0% to 100%"},
    [QUANTITY_FILM] = {"a", "film thickness", "40um or 1.5mil", 0.0, HUGE_VAL, "zero or more"},
    [QUANTITY_VOLUME] = {"a", "volume", "250ml or 1/2pt", 0.0, HUGE_VAL, "zero or more"},
    [QUANTITY_MASS] = {"a", "mass", "12kg or 26lb", 0.0, HUGE_VAL, "zero or more"},
    [QUANTITY_LENGTH] = {"a", "length", "8mm or 1/4in", 0.0, HUGE_VAL, "zero or more"},
    [QUANTITY_AREA] = {"an", "area", "0.5m2 or 5ft2", 0.0, HUGE_VAL, "zero or more"},
    [QUANTITY_ROOM] = {"a", "room volume", "40m3 or 1400ft3", 0.0, HUGE_VAL, "zero or more"},
    [QUANTITY_AIRFLOW] = {"an", "airflow", "200m3h or 120cfm", 0.0, HUGE_VAL, "zero or more"},
    [QUANTITY_DURATION] = {"a", "duration", "20min, 8h or 2h30min", 0.0, HUGE_VAL, "zero or more"},
    [QUANTITY_ENERGY] = {"an", "activation energy", "50kJ/mol", 0.0, HUGE_VAL, "zero or more"},
    [QUANTITY_TEMP_DIFF] = {"a", "temperature difference", "5C or 9F", -HUGE_VAL, HUGE_VAL, "any"},
    [QUANTITY_HEAT_TRANSFER] = {"a", "heat transfer coefficient", "10W/m2K", 0.0, HUGE_VAL, "zero or more"},
    [QUANTITY_CONCENTRATION] = {"a", "concentration", "500ppm or 1.2%", 0.0, 1e6, "0ppm to 100%"},
};
_Static_assert(sizeof kinds / sizeof *kinds == QUANTITY_COUNT, "one row a quantity");

/* Text from outside as it may stand in a message: short, without control characters. */
struct quoted {
    char text[PIECE_SIZE];
};

static struct quoted quote(const char *text, size_t length)
{
    struct quoted quoted = {{0}};
    size_t kept = length < PIECE_SIZE - 4 ? length : PIECE_SIZE - 4;
    bool cut = kept < length;
    while (cut && kept > 0 && ((unsigned char)text[kept] & 0xC0u) == 0x80u)
        kept--; /* not inside a UTF-8 character */
    for (size_t i = 0; i < kept; i++) {
        unsigned char c = (unsigned char)text[i];
        quoted.text[i] = c < 0x20u || c == 0x7Fu ? '?' : text[i];
    }
    memcpy(quoted.text + kept, cut ? "..." : "", cut ? 4 : 1);
    return quoted;
}

static const char *skip_space(const char *at)
{
    while (*at == ' ' || *at == '\t')
        at++;
    return at;
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static double power_of_ten(int exponent)
{
    double power = 1.0;
    while (exponent-- > 0)
        power *= 10.0; /* exact up to 10^22 */
    return power;
}

/* Digits with at most one point. No exponent, no hexadecimal, no locale. */
static bool take_decimal(const char **at, double *ret)
{
    double mantissa = 0.0;
    int kept = 0, dropped = 0, decimals = 0;
    bool point = false, any = false;
    for (; is_digit(**at) || (**at == '.' && !point); (*at)++) {
        if (**at == '.') {
            point = true;
            continue;
        }
        any = true;
        bool keep = kept < DIGITS_KEPT && decimals < DECIMALS_KEPT;
        if (keep) {
            mantissa = mantissa * 10.0 + (**at - '0');
            kept += mantissa > 0.0 ? 1 : 0;
        }
        decimals += keep && point ? 1 : 0;
        dropped += !keep && !point && dropped < DECIMALS_KEPT ? 1 : 0; /* far above NUMBER_MAX by then */
    }
    *ret = mantissa / power_of_ten(decimals) * power_of_ten(dropped);
    return any;
}

/* "-5", "1.5" or "1/3". */
static bool take_number(const char **at, double *ret)
{
    double sign = **at == '-' ? -1.0 : 1.0;
    double value = 0.0, divisor = 1.0;
    if (**at == '-' || **at == '+')
        (*at)++;
    if (!take_decimal(at, &value))
        return false;
    if (**at == '/' && is_digit((*at)[1])) {
        (*at)++;
        if (!take_decimal(at, &divisor) || divisor <= 0.0)
            return false;
    }
    *ret = sign * value / divisor + 0.0; /* + 0.0: no negative zero */
    return true;
}

/* The unit of this kind that stands at *at, whole: what follows must not be a letter. Any case. */
static const struct unit *take_unit(enum quantity kind, const char **at)
{
    size_t length = 0;
    while ((*at)[length] != '\0' && (*at)[length] != ' ' && (*at)[length] != '\t' &&
           (length == 0 || kind != QUANTITY_DURATION || !is_digit((*at)[length])))
        length++; /* "2h30min": in durations a digit starts the next part */
    for (size_t i = 0; i < UNITS_IN_TABLE; i++) {
        const struct unit *unit = &units_table[i];
        if (unit->kind == kind && strlen(unit->name) == length && strncasecmp(unit->name, *at, length) == 0) {
            *at += length;
            return unit;
        }
    }
    return NULL;
}

/* "um, mil or mm", or with a number before each: "3um, 3mil or 3mm". */
static void list_units(enum quantity kind, const char *number, char *text, size_t size)
{
    const struct unit *found[UNITS_IN_TABLE];
    size_t count = 0, used = 0;
    for (size_t i = 0; i < UNITS_IN_TABLE; i++) {
        if (units_table[i].kind == kind && !units_table[i].alias)
            found[count++] = &units_table[i];
    }
    text[0] = '\0';
    for (size_t i = 0; i < count && used < size; i++) {
        const char *joint = i == 0 ? "" : i + 1 == count ? " or " : ", ";
        used += (size_t)snprintf(text + used, size - used, "%s%s%s", joint, number, found[i]->name);
    }
}

static enum coat_result fail_form(enum quantity kind, const char *text, struct coat_error *error)
{
    if (*skip_space(text) == '\0')
        return coat_fail(error, COAT_BAD_VALUE, "", "%s %s is missing: write a number and its unit, for example %s",
                         kinds[kind].article, kinds[kind].noun, kinds[kind].example);
    return coat_fail(error, COAT_BAD_VALUE, "", "\"%s\" is no %s: write a number and its unit, for example %s",
                     quote(text, strlen(text)).text, kinds[kind].noun, kinds[kind].example);
}

static enum coat_result fail_unit(enum quantity kind, const char *text, struct coat_error *error)
{
    char list[96];
    list_units(kind, "", list, sizeof list);
    return coat_fail(error, COAT_BAD_VALUE, "", "\"%s\" has no unit for %s %s: write %s after the number, for example %s",
                     quote(text, strlen(text)).text, kinds[kind].article, kinds[kind].noun, list, kinds[kind].example);
}

/* Half of the world writes 18,5: asked back with what would do. `comma` is where it stands in `text`. */
static enum coat_result fail_comma(const char *text, const char *comma, struct coat_error *error)
{
    struct quoted point = quote(text, strlen(text));
    size_t at = (size_t)(comma - text);
    if (at < PIECE_SIZE && point.text[at] == ',')
        point.text[at] = '.';
    return coat_fail(error, COAT_BAD_VALUE, "", "\"%s\" has a comma in its number: write a decimal point, %s, and nothing between thousands",
                     quote(text, strlen(text)).text, point.text);
}

/* A bare number where air is meant: which of humidity, Fahrenheit and Celsius it was is for the person to say. Above 40
 * it reads as Fahrenheit first, the way it does in a shop. */
static enum coat_result fail_bare_air(double number, const char *written, struct coat_error *error)
{
    char humidity[PIECE_SIZE + 32] = "";
    if (number >= 0.0 && number <= 100.0)
        snprintf(humidity, sizeof humidity, "%s%% for humidity, or ", written);
    double other = number > 40.0 ? (number - 32.0) / 1.8 : number * 1.8 + 32.0;
    char either[PIECE_SIZE + 32];
    snprintf(either, sizeof either, number > 40.0 ? "%sF or %.0fC" : "%sC or %.0fF", written, round(other) + 0.0);
    return coat_fail(error, COAT_BAD_VALUE, "", "\"%s\" has no unit: write %s%s for temperature", written, humidity,
                     either);
}

/* `from` is where the number stands, to the end of the text. */
static enum coat_result fail_bare(enum quantity kind, double number, const char *from, struct coat_error *error)
{
    size_t length = strlen(from);
    while (length > 0 && (from[length - 1] == ' ' || from[length - 1] == '\t'))
        length--;
    struct quoted written = quote(from, length);
    if (kind == QUANTITY_TEMPERATURE || kind == QUANTITY_SHARE)
        return fail_bare_air(number, written.text, error);
    char list[UNITS_IN_TABLE * 4];
    list_units(kind, length <= 12 ? written.text : "", list, sizeof list);
    return coat_fail(error, COAT_BAD_VALUE, "", "\"%s\" has no unit: write %s for %s %s", written.text, list,
                     kinds[kind].article, kinds[kind].noun);
}

static enum coat_result fail_range(enum quantity kind, const char *text, struct coat_error *error)
{
    return coat_fail(error, COAT_BAD_VALUE, "", "\"%s\" is not possible: %s %s is %s",
                     quote(text, strlen(text)).text, kinds[kind].article, kinds[kind].noun, kinds[kind].range);
}

static bool is_allowed(enum quantity kind, double base)
{
    return base >= kinds[kind].low - 1e-9 && base <= kinds[kind].high; /* 1e-9: -459.67F is absolute zero */
}

/* One number and its unit; *at ends after them and the space that follows. `text` is the whole, for messages. */
static enum coat_result take_part(enum quantity kind, const char *text, const char **at, const struct unit **ret_unit,
                                  double *ret, struct coat_error *error)
{
    double number = 0.0;
    const char *from = *at;
    if (!take_number(at, &number))
        return fail_form(kind, text, error);
    if (!(fabs(number) <= NUMBER_MAX))
        return coat_fail(error, COAT_BAD_VALUE, "", "\"%s\" is too large: no number above a thousand million is read",
                         quote(text, strlen(text)).text);
    if (**at == ',' && is_digit((*at)[1]))
        return fail_comma(text, *at, error);
    *at = skip_space(*at);
    if (**at == '\0')
        return fail_bare(kind, number, from, error);
    const struct unit *unit = take_unit(kind, at);
    if (unit == NULL)
        return fail_unit(kind, text, error);
    *at = skip_space(*at);
    *ret_unit = unit;
    *ret = (number + unit->offset) * unit->factor;
    return COAT_OK;
}

/* Durations go on in smaller units: "2h30min", "3 d 4 h". */
static enum coat_result parse_parts(enum quantity kind, const char *text, double *ret, struct coat_error *error)
{
    double total = 0.0;
    const struct unit *before = NULL;
    for (const char *at = skip_space(text); before == NULL || *at != '\0';) {
        const struct unit *unit = NULL;
        double part = 0.0;
        if (before != NULL && kind != QUANTITY_DURATION)
            return fail_form(kind, text, error);
        enum coat_result result = take_part(kind, text, &at, &unit, &part, error);
        if (result != COAT_OK)
            return result;
        if (before != NULL && unit->factor >= before->factor)
            return fail_form(kind, text, error);
        if (!is_allowed(kind, part))
            return fail_range(kind, text, error);
        total += part;
        before = unit;
    }
    *ret = total;
    return COAT_OK;
}

enum coat_result quantity_parse(enum quantity kind, const char *text, double *ret, struct coat_error *error)
{
    double value = 0.0;
    enum coat_result result = parse_parts(kind, text, &value, error);
    if (result != COAT_OK)
        return result;
    *ret = fmax(value, kinds[kind].low); /* the last digit of a conversion at absolute zero */
    return COAT_OK;
}

/* How a quantity is written: the first row of the system whose `from` (base unit) is reached; smaller ones by the last. `sig`
 * significant digits, but never more than `decimals` behind the point. */
struct form {
    enum quantity kind;
    enum units_system system;
    double from;
    const char *unit;
    int sig, decimals;
};

static const struct form forms[] = {
    {QUANTITY_TEMPERATURE, UNITS_METRIC, 0.0, "C", 9, 1},
    {QUANTITY_TEMPERATURE, UNITS_US, 0.0, "F", 9, 1},
    {QUANTITY_SHARE, UNITS_METRIC, 0.0, "%", 2, 1},
    {QUANTITY_SHARE, UNITS_US, 0.0, "%", 2, 1},
    {QUANTITY_FILM, UNITS_METRIC, 0.0, "um", 3, 1},
    {QUANTITY_FILM, UNITS_US, 0.0, "mil", 3, 2},
    {QUANTITY_VOLUME, UNITS_METRIC, 1000.0, "l", 3, 2},
    {QUANTITY_VOLUME, UNITS_METRIC, 0.0, "ml", 3, 1},
    {QUANTITY_VOLUME, UNITS_US, 128.0 * FLOZ_ML, "gal", 3, 2},
    {QUANTITY_VOLUME, UNITS_US, 0.0, "floz", 3, 2},
    {QUANTITY_MASS, UNITS_METRIC, 1000.0, "kg", 3, 2},
    {QUANTITY_MASS, UNITS_METRIC, 0.0, "g", 3, 1},
    {QUANTITY_MASS, UNITS_US, 16.0 * OUNCE_G, "lb", 3, 2},
    {QUANTITY_MASS, UNITS_US, 0.0, "oz", 3, 2},
    {QUANTITY_LENGTH, UNITS_METRIC, 1000.0, "m", 3, 2},
    {QUANTITY_LENGTH, UNITS_METRIC, 0.0, "mm", 3, 1},
    {QUANTITY_LENGTH, UNITS_US, 3.0 * (12.0 * INCH_MM), "ft", 3, 2},
    {QUANTITY_LENGTH, UNITS_US, 0.0, "in", 3, 2},
    {QUANTITY_AREA, UNITS_METRIC, 0.1, "m2", 3, 2},
    {QUANTITY_AREA, UNITS_METRIC, 0.0, "cm2", 3, 1},
    {QUANTITY_AREA, UNITS_US, 144.0 * INCH2_M2, "ft2", 3, 2},
    {QUANTITY_AREA, UNITS_US, 0.0, "in2", 3, 1},
    {QUANTITY_ROOM, UNITS_METRIC, 1.0, "m3", 3, 2},
    {QUANTITY_ROOM, UNITS_METRIC, 0.0, "l", 3, 1},
    {QUANTITY_ROOM, UNITS_US, 0.0, "ft3", 3, 2},
    {QUANTITY_AIRFLOW, UNITS_METRIC, 0.0, "m3h", 3, 2},
    {QUANTITY_AIRFLOW, UNITS_US, 0.0, "cfm", 3, 2},
    {QUANTITY_ENERGY, UNITS_METRIC, 0.0, "kJ/mol", 3, 1},
    {QUANTITY_ENERGY, UNITS_US, 0.0, "kJ/mol", 3, 1},
    {QUANTITY_TEMP_DIFF, UNITS_METRIC, 0.0, "C", 9, 1},
    {QUANTITY_TEMP_DIFF, UNITS_US, 0.0, "F", 9, 1},
    {QUANTITY_HEAT_TRANSFER, UNITS_METRIC, 0.0, "W/m2K", 3, 1},
    {QUANTITY_HEAT_TRANSFER, UNITS_US, 0.0, "W/m2K", 3, 1},
    {QUANTITY_CONCENTRATION, UNITS_METRIC, 10000.0, "%", 3, 2},
    {QUANTITY_CONCENTRATION, UNITS_METRIC, 0.0, "ppm", 3, 1},
    {QUANTITY_CONCENTRATION, UNITS_US, 10000.0, "%", 3, 2},
    {QUANTITY_CONCENTRATION, UNITS_US, 0.0, "ppm", 3, 1},
};

static const struct form *find_form(enum quantity kind, enum units_system system, double value)
{
    const struct form *last = NULL;
    for (size_t i = 0; i < sizeof forms / sizeof *forms; i++) {
        if (forms[i].kind != kind || forms[i].system != system)
            continue;
        last = &forms[i];
        if (fabs(value) >= last->from)
            break;
    }
    return last;
}

static const struct unit *find_unit(enum quantity kind, const char *name)
{
    for (size_t i = 0; i < UNITS_IN_TABLE; i++) {
        if (units_table[i].kind == kind && strcmp(units_table[i].name, name) == 0)
            return &units_table[i];
    }
    return NULL;
}

/* "17.8", "18" for 18.0, "0" for what would be "-0.0". */
static void print_number(double number, int decimals, char *text, size_t size)
{
    snprintf(text, size, "%.*f", decimals, number);
    if (strchr(text, '.') != NULL) {
        size_t length = strlen(text);
        while (text[length - 1] == '0')
            text[--length] = '\0';
        if (text[length - 1] == '.')
            text[--length] = '\0';
    }
    if (strcmp(text, "-0") == 0)
        snprintf(text, size, "0");
}

/* How many decimals show `sig` significant digits, at most `limit`. */
static int decimals_for(double number, int sig, int limit)
{
    double size = fabs(number);
    int decimals = size > 0.0 ? sig - 1 - (int)floor(log10(size) + 1e-12) : 0;
    return decimals < 0 ? 0 : decimals > limit ? limit : decimals;
}

/* The number in the form's unit, rounded to the decimals that it shows. */
static double shown_number(const struct form *form, const struct unit *unit, double value, int *ret_decimals)
{
    double number = value / unit->factor - unit->offset;
    *ret_decimals = decimals_for(number, form->sig, form->decimals);
    double scale = power_of_ten(*ret_decimals);
    return round(number * scale) / scale;
}

static void print_plain(enum quantity kind, double value, enum units_system system, char *text, size_t size)
{
    const struct form *form = find_form(kind, system, value);
    const struct unit *unit = form != NULL ? find_unit(kind, form->unit) : NULL;
    if (unit == NULL) {
        snprintf(text, size, "?");
        return;
    }
    int decimals = 0;
    double number = shown_number(form, unit, value, &decimals);
    const struct form *rounded = find_form(kind, system, (number + unit->offset) * unit->factor);
    if (rounded->from > form->from) { /* 999.9 ml is 1 l */
        unit = find_unit(kind, rounded->unit);
        number = shown_number(rounded, unit, value, &decimals);
    }
    char digits[32];
    print_number(number, decimals, digits, sizeof digits);
    snprintf(text, size, "%s %s", digits, unit->name);
}

/* Below `below_s` a duration is rounded to `step_s` and written in one or two units. */
static const struct duration_form {
    double below_s, step_s;
    int64_t big_s, small_s;
    const char *big, *small;
} duration_forms[] = {
    {60.0, 1.0, 1, 1, "s", ""},
    {600.0, 1.0, 60, 1, "min", "s"},
    {3600.0, 60.0, 60, 1, "min", "s"},
    {172800.0, 60.0, 3600, 60, "h", "min"},
    {259200.0, 3600.0, 3600, 60, "h", "min"},
    {2592000.0, 3600.0, 86400, 3600, "d", "h"},
    {HUGE_VAL, 86400.0, 86400, 3600, "d", "h"},
};

static const struct duration_form *find_duration_form(double seconds)
{
    const struct duration_form *form = duration_forms;
    while (seconds >= form->below_s)
        form++;
    return form;
}

static void print_duration(double value, char *text, size_t size)
{
    const char *sign = value < 0.0 ? "-" : "";
    double seconds = fabs(value);
    double step_s = find_duration_form(seconds)->step_s;
    double rounded = round(seconds / step_s) * step_s;
    const struct duration_form *form = find_duration_form(rounded);
    if (rounded > 1e15) { /* 30 million years: nothing a shop waits for, and it would not fit */
        snprintf(text, size, "?");
        return;
    }
    int64_t whole = (int64_t)rounded;
    int64_t rest = whole % form->big_s / form->small_s;
    if (rest == 0)
        snprintf(text, size, "%s%lld %s", sign, (long long)(whole / form->big_s), form->big);
    else
        snprintf(text, size, "%s%lld %s %lld %s", sign, (long long)(whole / form->big_s), form->big, (long long)rest,
                 form->small);
}

char *quantity_print(enum quantity kind, double value, enum units_system units, char *text, size_t size)
{
    if (!isfinite(value))
        snprintf(text, size, "?");
    else if (kind == QUANTITY_DURATION)
        print_duration(value, text, size);
    else
        print_plain(kind, value, units, text, size);
    return text;
}

/* Copies text[0..length) as a string of its own; false where it is too long to be an amount. */
static bool cut_piece(const char *text, size_t length, char piece[PIECE_SIZE])
{
    if (length >= PIECE_SIZE)
        return false;
    memcpy(piece, text, length);
    piece[length] = '\0';
    return true;
}

/* "<first><separator><second>", each an amount of its kind. */
static enum coat_result parse_pair(const char *text, char separator, const enum quantity kind[2], const char *example,
                                   double ret[2], struct coat_error *error)
{
    char piece[PIECE_SIZE];
    const char *middle = strchr(text, separator);
    if (middle == NULL || !cut_piece(text, (size_t)(middle - text), piece))
        return coat_fail(error, COAT_BAD_VALUE, "", "\"%s\" is not readable: write %s, then %s, with \"%c\" between, for "
                         "example %s", quote(text, strlen(text)).text, kinds[kind[0]].noun,
                         kind[1] == QUANTITY_SHARE ? "humidity" : kinds[kind[1]].noun, separator, example);
    enum coat_result result = quantity_parse(kind[0], piece, &ret[0], error);
    return result != COAT_OK ? result : quantity_parse(kind[1], middle + 1, &ret[1], error);
}

enum coat_result quantity_parse_air(const char *text, double *ret_temp_c, double *ret_rh_pct, struct coat_error *error)
{
    static const enum quantity kind[2] = {QUANTITY_TEMPERATURE, QUANTITY_SHARE};
    double value[2] = {0.0, 0.0};
    enum coat_result result = parse_pair(text, ',', kind, "18C,55%", value, error);
    if (result != COAT_OK)
        return result;
    *ret_temp_c = value[0];
    *ret_rh_pct = value[1];
    return COAT_OK;
}

enum coat_result quantity_parse_row(const char *text, double *ret_temp_c, double *ret_hours, struct coat_error *error)
{
    static const enum quantity kind[2] = {QUANTITY_TEMPERATURE, QUANTITY_DURATION};
    double value[2] = {0.0, 0.0};
    enum coat_result result = parse_pair(text, '=', kind, "10C=8h", value, error);
    if (result != COAT_OK)
        return result;
    if (value[1] <= 0.0)
        return coat_fail(error, COAT_BAD_VALUE, "", "\"%s\" takes no time at all: a row of a drying table needs a time "
                         "above zero, for example 10C=8h", quote(text, strlen(text)).text);
    *ret_temp_c = value[0];
    *ret_hours = value[1] / 3600.0;
    return COAT_OK;
}
