#include "daemon/notify/sender.h"

#include <ctype.h>
#include <string.h>

void sender_init(struct sender *sender, struct couriers *couriers, const struct channel *settings)
{
    *sender = (struct sender){
        .way = settings->kind == CHANNEL_COMMAND ? &sender_by_command : &sender_by_courier,
        .couriers = couriers,
        .settings = *settings,
        .child = {.pid_fd = -1, .out_fd = -1, .err_fd = -1},
    };
}

/* Bytes of the character that begins there; 0 where it is not well formed (RFC 3629 section 4). */
static size_t character_bytes(const unsigned char *text, size_t left)
{
    static const unsigned least[] = {0, 0, 0x80, 0x800, 0x10000};
    size_t bytes = text[0] < 0x80 ? 1 : text[0] >= 0xF0 ? 4 : text[0] >= 0xE0 ? 3 : 2;
    if (bytes == 1)
        return 1;
    if (text[0] < 0xC2 || text[0] > 0xF4 || bytes > left)
        return 0;
    unsigned code = text[0] & (0xFFu >> (bytes + 1));
    for (size_t i = 1; i < bytes; i++) {
        if ((text[i] & 0xC0u) != 0x80u)
            return 0;
        code = code << 6 | (text[i] & 0x3Fu);
    }
    return code >= least[bytes] && code <= 0x10FFFFu && (code < 0xD800u || code > 0xDFFFu) ? bytes : 0;
}

void sender_show(const char *text, size_t length, char ret[TRY_ANSWER_SIZE])
{
    size_t used = 0;
    for (size_t i = 0; i < length;) {
        size_t bytes = character_bytes((const unsigned char *)text + i, length - i);
        size_t wanted = bytes > 0 ? bytes : 1;
        if (used + wanted >= TRY_ANSWER_SIZE)
            break;
        bool blank = bytes == 1 && (iscntrl((unsigned char)text[i]) || text[i] == ' ');
        if (bytes > 1)
            memcpy(ret + used, text + i, bytes);
        else
            ret[used] = bytes == 0 ? '?' : blank ? ' ' : text[i];
        i += wanted;
        used += blank && (used == 0 || ret[used - 1] == ' ') ? 0 : wanted; /* many blanks are one, and none at the begin */
    }
    while (used > 0 && ret[used - 1] == ' ')
        used--;
    ret[used] = '\0';
}
