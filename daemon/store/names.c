#include "daemon/store/internal.h"

#include <string.h>

/* Ranges of capital letters that UTF-8 writes in two bytes, and where their small ones lie (Unicode 15, UnicodeData.txt, simple
 * lower-case mapping; from memory). `step` 2: every other letter of the range is a capital. */
static const struct {
    unsigned from, to, step;
    int shift;
} capitals[] = {
    {0x00c0, 0x00d6, 1, 32}, {0x00d8, 0x00de, 1, 32}, {0x0100, 0x012e, 2, 1},  {0x0132, 0x0136, 2, 1},
    {0x0139, 0x0147, 2, 1},  {0x014a, 0x0176, 2, 1},  {0x0178, 0x0178, 1, -121}, {0x0179, 0x017d, 2, 1},
    {0x0391, 0x03a1, 1, 32}, {0x03a3, 0x03ab, 1, 32}, {0x0400, 0x040f, 1, 80}, {0x0410, 0x042f, 1, 32},
};

static unsigned fold_letter(unsigned letter)
{
    for (size_t i = 0; i < sizeof capitals / sizeof *capitals; i++) {
        if (letter < capitals[i].from || letter > capitals[i].to)
            continue;
        bool capital = (letter - capitals[i].from) % capitals[i].step == 0;
        return capital ? (unsigned)((int)letter + capitals[i].shift) : letter;
    }
    return letter;
}

void name_fold(const char *name, char *key, size_t size)
{
    size_t length = strnlen(name, size - 1);
    memcpy(key, name, length);
    key[length] = 0;
    for (size_t i = 0; i < length; i++) {
        unsigned char lead = (unsigned char)key[i], next = (unsigned char)key[i + 1]; /* the NUL at most */
        if (lead >= 'A' && lead <= 'Z')
            key[i] = (char)(lead + ('a' - 'A'));
        if ((lead & 0xe0) != 0xc0 || (next & 0xc0) != 0x80)
            continue;
        unsigned letter = fold_letter((lead & 0x1fu) << 6 | (next & 0x3fu));
        key[i] = (char)(0xc0 | letter >> 6);
        key[i + 1] = (char)(0x80 | (letter & 0x3f));
        i++;
    }
}
