/* Reads groups of a study file by their tables of keys, collecting all findings on the way. */
#ifndef SHEAVE_STUDY_READER_H
#define SHEAVE_STUDY_READER_H

#include <libconfig.h>

#include "study/keys.h"
#include "base/sha256.h"

struct finding;
struct nearest;

/* Entries of a list read so far, each `group->size` bytes; see catalog.h. */
struct parts {
    unsigned char *drafts; /* owned */
    struct part *part;     /* owned, one for each draft */
    size_t count;
};

struct part {
    const char *name;                /* borrowed from the configuration; NULL where it is wrong */
    const config_setting_t *setting; /* the group that describes it */
    bool is_taken; /* another list has what the draft owns; only its numbers are still good */
};

/* Lines of a file in the text that libconfig reads, which has all files in one. */
struct stretch {
    unsigned first; /* there */
    size_t file;    /* index in the reader's files */
    unsigned line;  /* of the file */
};

/* A key as the text is looked through, before libconfig reads it. */
struct key_met {
    char *name;     /* owned */
    unsigned group; /* number of the one that it stands in; 0: the top level */
    size_t file;    /* index in the reader's files */
    unsigned line;
};

struct reader {
    const char *path; /* of the study file, as given */
    char *directory;  /* of the study file, owned */
    const struct shv_units *units;
    const config_setting_t *root;
    struct shv_diagnostics *diagnostics; /* where findings go in the end */
    struct finding *findings;            /* owned */
    size_t finding_count, finding_capacity;
    size_t errors;
    char **files; /* owned: names as libconfig gives them, in order met */
    size_t file_count;
    bool out_of_memory;
    bool broken_file; /* one that is there could not be read */
    char *text;       /* owned: all files as read, in order met; NULL before the first */
    size_t text_length;
    size_t settings, values; /* in all files so far */
    struct key_met *keys;    /* owned: likewise */
    size_t key_count;
    unsigned groups;
    char *whole; /* owned: the study with what it includes in place */
    size_t whole_length;
    unsigned whole_lines;
    struct stretch *stretch; /* owned */
    size_t stretches;
    struct sha256 hash;     /* of the study file and all it includes or names */
    struct sha256 own_hash; /* of the study file alone */
    struct parts catalogue[ENTRIES_COUNT], chosen[ENTRIES_COUNT];
};

/* Findings. `where` NULL is the top level; `child` names a key of it, there or
 * missing, or is NULL. */
void reader_error(struct reader *reader, const config_setting_t *where, const char *child,
                  const char *format, ...) __attribute__((format(printf, 4, 5)));
void reader_warning(struct reader *reader, const config_setting_t *where, const char *child,
                    const char *format, ...) __attribute__((format(printf, 4, 5)));
void reader_error_at(struct reader *reader, const char *file, unsigned line, const char *format,
                     ...) __attribute__((format(printf, 4, 5)));
/* Hands the findings to the list of diagnostics, in the order of the files and their lines. */
void reader_report(struct reader *reader);
/* Starts on a file, with `path` and `diagnostics` set and the rest zeroed; what fails is told. To
 * be ended with reader_end, also after a failure. */
enum shv_status reader_begin(struct reader *reader, struct shv_units **units);
/* Frees the units and what the reader owns, not what was read. Memory that ran out is told here
 * where nothing else was. */
void reader_end(struct reader *reader, struct shv_units *units, enum shv_status status);

bool reader_add_file(struct reader *reader, const char *name);
/* File and line of a line of the whole; the name is borrowed from the reader. */
const char *reader_place(const struct reader *reader, unsigned whole_line, unsigned *line);
/* Path of the file a setting stands in, owned by the caller. */
char *reader_file_of(const struct reader *reader, const config_setting_t *setting);

/* The member of a group; NULL when the group is NULL or has none of that name. */
const config_setting_t *reader_member(const config_setting_t *group, const char *name);

/* Reads a group into `base`, which is zeroed; `setting` NULL gives all defaults. What is wrong is
 * left as NAN, NULL, 0 or -1. */
void reader_group(struct reader *reader, const struct key_group *group,
                  const config_setting_t *setting, void *base);
/* Frees what a group's keys have put into the first `size` bytes of `base`, but for parts of lists
 * of the catalogue's kinds. */
void reader_free(const struct key_group *group, void *base, size_t size);
/* Reads one value of a quantity; NAN when it is wrong. */
double reader_quantity(struct reader *reader, const struct key *key,
                       const config_setting_t *setting);
/* A text of 1 to 200 printable characters, borrowed; NULL when it is none. */
const char *reader_text(struct reader *reader, const struct key *key,
                        const config_setting_t *setting);
/* Tells a name, what is accepted in its place, and the nearest word if it is near enough to be
 * meant. */
void reader_no_name(struct reader *reader, const config_setting_t *where, const char *child,
                    const char *name, const char *accepted, const struct nearest *nearest);
/* What stands in the file, as a reader of it would say. */
#define READER_FOUND_MAX 128
void reader_describe(const config_setting_t *setting, char text[READER_FOUND_MAX]);
/* Tells a wrong type: found what is there, accepted what the key says. */
void reader_wrong_type(struct reader *reader, const struct key *key,
                       const config_setting_t *setting);

#endif
