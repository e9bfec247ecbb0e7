/* sheave new: a study to begin with, or a demo study with its parts. */
#include "cli/new.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "cli/cli.h"

struct new_text {
    const char *name;
    const char *text;
};

static const struct new_text demos[] = {
    {"hillclimb", hillclimb_cfg}, {"pickup", pickup_cfg}, {"van", van_cfg}, {"boat", boat_cfg}};
/* What all of them include or name, in folders as it is looked for. */
static const struct new_text demo_parts[] = {
    {"parts.cfg", parts_cfg}, {"fuels.cfg", fuels_cfg}, {"maps/twist-small.csv", twist_small_csv}};

struct new_arguments {
    const char *units, *from;
};

#define PLACE(member) offsetof(struct new_arguments, member)
static const struct cli_option options[] = {
    {"units", "SYSTEM", "metric or us: units of the study and of its results (default: metric)",
     .place = PLACE(units)},
    {"from", "DEMO", "copy a demo study with its parts: hillclimb, pickup, van or boat",
     .place = PLACE(from)},
    {.name = NULL}};

static bool write_all(int file, const char *text, size_t length)
{
    while (length > 0) {
        ssize_t put = write(file, text, length);
        if (put < 0 && errno != EINTR) {
            return false;
        }
        text += put > 0 ? put : 0;
        length -= put > 0 ? (size_t)put : 0;
    }
    return true;
}

/* The folder that a file is to stand in, where it is missing. */
static enum shv_status make_folder_of(const char *path, struct shv_message *message)
{
    char folder[PATH_MAX];
    const char *slash = strrchr(path, '/');
    size_t length = slash ? (size_t)(slash - path) : 0;
    if (length >= sizeof folder) {
        return shv_fail(message, SHV_IO, "the name of the study is too long");
    }
    memcpy(folder, path, length);
    folder[length] = '\0';
    return length == 0 ? SHV_OK : cli_make_folders(folder, 0777, message);
}

/* A file that is not there yet; what is there stays. */
static enum shv_status write_new(const char *path, const char *text, struct shv_message *message)
{
    enum shv_status status = make_folder_of(path, message);
    if (status != SHV_OK) {
        return status;
    }
    int file = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    if (file < 0) {
        return errno == EEXIST
                   ? shv_fail(message, SHV_BAD_INPUT, "%s is there already; nothing was written",
                              path)
                   : shv_fail(message, SHV_IO, "cannot write %s: %s", path, strerror(errno));
    }
    bool good = write_all(file, text, strlen(text)) && fsync(file) == 0;
    int trouble = errno;
    if (close(file) != 0 && good) {
        good = false;
        trouble = errno;
    }
    if (!good) {
        (void)unlink(path);
        return shv_fail(message, SHV_IO, "cannot write %s: %s", path, strerror(trouble));
    }
    return SHV_OK;
}

/* ---- a study to begin with ---- */

#define CHOICE "<<"
#define CHOICE_END ">>"

/* The template with one side of each choice; the caller frees it. */
static char *study_text(bool us)
{
    char *text = malloc(strlen(new_study_cfg) + 1), *to = text;
    if (!text) {
        return NULL;
    }
    for (const char *at = new_study_cfg; *at;) {
        const char *bar, *end;
        if (strncmp(at, CHOICE, 2) != 0 || !(bar = strchr(at, '|')) ||
            !(end = strstr(bar, CHOICE_END))) {
            *to++ = *at++;
            continue;
        }
        const char *from = us ? bar + 1 : at + 2;
        size_t length = (size_t)((us ? end : bar) - from);
        memcpy(to, from, length);
        to += length;
        at = end + 2;
    }
    *to = '\0';
    return text;
}

static enum shv_status write_study(const char *path, bool us, struct shv_message *message)
{
    char *text = study_text(us);
    enum shv_status status = text ? write_new(path, text, message)
                                  : shv_fail(message, SHV_NO_MEMORY, "out of memory for the study");
    free(text);
    return status;
}

/* ---- a demo ---- */

static bool holds(const char *path, const char *text)
{
    FILE *file = fopen(path, "rb");
    size_t length = strlen(text), at = 0;
    int c = EOF;
    while (file && at < length && (c = getc(file)) == (unsigned char)text[at]) {
        at++;
    }
    bool same = file && at == length && getc(file) == EOF;
    if (file) {
        (void)fclose(file);
    }
    return same;
}

/* Where a part of a demo goes: beside the study. */
static enum shv_status part_path(char path[PATH_MAX], const char *study, const char *name,
                                 struct shv_message *message)
{
    const char *slash = strrchr(study, '/');
    int folder = slash ? (int)(slash - study) + 1 : 0;
    int length = snprintf(path, PATH_MAX, "%.*s%s", folder, study, name);
    if (length < 0 || length >= PATH_MAX) {
        return shv_fail(message, SHV_IO, "the name of the study is too long");
    }
    return SHV_OK;
}

/* Parts that are there already, unchanged, are shared by several demos. */
static enum shv_status write_demo(const char *study, const char *text, struct shv_message *message)
{
    enum shv_status status = SHV_OK;
    for (size_t i = 0; status == SHV_OK && i < sizeof demo_parts / sizeof *demo_parts; i++) {
        char path[PATH_MAX];
        status = part_path(path, study, demo_parts[i].name, message);
        if (status == SHV_OK && !holds(path, demo_parts[i].text)) {
            status = write_new(path, demo_parts[i].text, message);
        }
    }
    return status == SHV_OK ? write_new(study, text, message) : status;
}

static const char *demo_text(const char *name)
{
    for (size_t i = 0; i < sizeof demos / sizeof *demos; i++) {
        if (strcmp(demos[i].name, name) == 0) {
            return demos[i].text;
        }
    }
    return NULL;
}

/* ---- all of it ---- */

/* -1 when the options are good, else an exit code. */
static int check_options(const struct new_arguments *a)
{
    if (a->from && a->units) {
        cli_error("new", "--from copies a demo with the units it has: leave --units out");
        return CLI_BAD_INPUT;
    }
    if (a->from && !demo_text(a->from)) {
        cli_error("new", "--from: found \"%s\"; demos are hillclimb, pickup, van and boat",
                  a->from);
        return CLI_BAD_INPUT;
    }
    if (a->units && strcmp(a->units, "us") != 0 && strcmp(a->units, "metric") != 0) {
        cli_error("new", "--units: found \"%s\"; accepted: metric or us", a->units);
        return CLI_BAD_INPUT;
    }
    return -1;
}

static int run(int argc, char **argv)
{
    struct new_arguments a = {NULL, NULL};
    struct shv_message message;
    const char *path;
    int code = cli_parse(&cli_new, argc, argv, &a, &path);
    code = code < 0 ? check_options(&a) : code;
    if (code >= 0) {
        return code;
    }
    enum shv_status status =
        a.from ? write_demo(path, demo_text(a.from), &message)
               : write_study(path, a.units && strcmp(a.units, "us") == 0, &message);
    if (status != SHV_OK) {
        return cli_finish("new", status, &message);
    }
    printf("Written: %s, a study that runs as it is. %s Then\n"
           "  sheave check %s      says what it understood and how long a run would take\n"
           "  sheave run %s        finds the best kits\n",
           path, a.from ? "Change what you like." : "Put your own data under 1 to 10.", path, path);
    return CLI_DONE;
}

const struct cli_command cli_new = {
    "new",
    "FILE",
    "write a study to begin with",
    "Writes a study that runs as it is, of an invented engine and blower. The ten things that a "
    "shop\n"
    "knows stand at the top, to be replaced by its own; everything else is left at its default and "
    "named\n"
    "in a comment. --from copies one of the demo studies instead, with the parts that it chooses "
    "from\n"
    "beside it. No file is written over.\n\n"
    "    sheave new kit.cfg --units us\n",
    options,
    false,
    .run = run};
