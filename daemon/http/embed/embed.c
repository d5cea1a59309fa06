/* Build tool: writes the files of a folder as C arrays with their MIME type and a hash of their content, each plain and compressed.
 *
 *     embed FOLDER SMALL FILE… >assets.c        FILE below FOLDER, in byte order of their names; SMALL/NAME.gz is the same compressed */
#include <inttypes.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

struct file {
    const char *name;
    uint64_t hash; /* of the plain content: FNV-1a, 64 bits */
    size_t length, gzip_length; /* 0: compressed it would not be smaller */
};

static const char *mime_type(const char *name)
{
    static const struct {
        const char *ending, *type;
    } rows[] = {
        {".html", "text/html; charset=utf-8"}, {".js", "text/javascript; charset=utf-8"},
        {".mjs", "text/javascript; charset=utf-8"}, {".css", "text/css; charset=utf-8"},
        {".svg", "image/svg+xml"}, {".png", "image/png"}, {".ico", "image/x-icon"},
        {".woff2", "font/woff2"}, {".json", "application/json"},
        {".webmanifest", "application/manifest+json"}, {".txt", "text/plain; charset=utf-8"},
    };
    const char *ending = strrchr(name, '.');
    for (size_t i = 0; ending != NULL && i < sizeof rows / sizeof *rows; i++)
        if (strcmp(ending, rows[i].ending) == 0)
            return rows[i].type;
    return "application/octet-stream";
}

static bool is_plain_name(const char *name)
{
    return name[0] != '\0' && strpbrk(name, "\"\\\n") == NULL;
}

/* One array; its bytes by the line. An empty file still needs one byte. */
static bool write_bytes(const char *path, const char *array, size_t number, size_t *ret_length, uint64_t *ret_hash)
{
    FILE *in = fopen(path, "rb");
    if (in == NULL) {
        perror(path);
        return false;
    }
    *ret_hash = UINT64_C(14695981039346656037);
    *ret_length = 0;
    printf("static const unsigned char %s_%zu[] = {", array, number);
    for (int c = getc(in); c != EOF; c = getc(in)) {
        *ret_hash = (*ret_hash ^ (uint64_t)c) * UINT64_C(1099511628211);
        printf("%s%d,", (*ret_length)++ % 24 == 0 ? "\n" : "", c);
    }
    printf("%s\n};\n", *ret_length == 0 ? "0" : "");
    bool good = ferror(in) == 0;
    fclose(in);
    return good;
}

static size_t file_size(const char *path)
{
    FILE *in = fopen(path, "rb");
    long size = in != NULL && fseek(in, 0, SEEK_END) == 0 ? ftell(in) : -1;
    if (in == NULL || size < 0)
        perror(path);
    if (in != NULL)
        fclose(in);
    return size < 0 ? 0 : (size_t)size;
}

static bool write_file(const char *path, const char *small_folder, size_t number, struct file *file)
{
    char small[4096];
    uint64_t ignored;
    if (!write_bytes(path, "bytes", number, &file->length, &file->hash))
        return false;
    int length = snprintf(small, sizeof small, "%s/%s.gz", small_folder, file->name);
    if (length < 0 || (size_t)length >= sizeof small)
        return false;
    size_t size = file_size(small);
    if (size == 0 || size >= file->length)
        return size > 0;
    return write_bytes(small, "gzip", number, &file->gzip_length, &ignored);
}

static void write_row(const struct file *file, size_t number)
{
    printf("    {\"%s\", \"%s\", \"%016" PRIx64 "\", bytes_%zu, %zu, ", file->name, mime_type(file->name), file->hash, number,
           file->length);
    if (file->gzip_length > 0)
        printf("gzip_%zu, %zu},\n", number, file->gzip_length);
    else
        printf("0, 0},\n");
}

static void write_table(const struct file *files, size_t count)
{
    printf("const struct http_asset http_asset_table[] = {\n");
    for (size_t i = 0; i < count; i++)
        write_row(&files[i], i);
    printf("    {0, 0, 0, 0, 0, 0, 0},\n};\nconst size_t http_asset_count = %zu;\n", count);
}

int main(int argc, char **argv)
{
    static struct file files[512];
    size_t folder = argc > 1 ? strlen(argv[1]) : 0;
    size_t count = 0;
    printf("/* made from the files of the page; do not edit */\n#include \"daemon/http/assets.h\"\n");
    for (int i = 3; i < argc; i++) {
        bool below = strncmp(argv[i], argv[1], folder) == 0 && argv[i][folder] == '/' && is_plain_name(argv[i] + folder + 1);
        if (!below || count == sizeof files / sizeof *files || (i > 3 && strcmp(argv[i - 1], argv[i]) >= 0)) {
            fprintf(stderr, "embed: %s: not below the folder, out of order, or one too many\n", argv[i]);
            return 1;
        }
        files[count] = (struct file){.name = argv[i] + folder + 1};
        if (!write_file(argv[i], argv[2], count, &files[count]))
            return 1;
        count++;
    }
    write_table(files, count);
    return fflush(stdout) == 0 && ferror(stdout) == 0 ? 0 : 1;
}
