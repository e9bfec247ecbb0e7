/* A folder for kept cycle tables, and one small table with its key. */
#ifndef SHEAVE_TESTS_SUPPORT_CYCLE_PLACE_H
#define SHEAVE_TESTS_SUPPORT_CYCLE_PLACE_H

#include "sweep/cycle_cache.h"
#include "support/cycle_table_fixture.h"

#include <dirent.h>
#include <unistd.h>

struct place {
    char folder[64];
    struct shv_cycle_table_spec spec;
    struct shv_cycle_table_options options;
    struct shv_cycle_table table; /* built without files */
    char key[65];
    char path[256];
};

static inline int set_up(void **state)
{
    struct place *p = calloc(1, sizeof *p);
    assert_non_null(p);
    (void)snprintf(p->folder, sizeof p->folder, "/tmp/sheave-cycle-XXXXXX");
    assert_non_null(mkdtemp(p->folder));
    small_table(&p->spec, &p->options);
    p->options.samples = 10; /* files and threads do not ask for accuracy */
    for (size_t d = 0; d < SHV_CYCLE_DIRECTIONS; d++) {
        p->options.first_nodes[d] = 4;
    }
    p->options.efficiency = 0.1;
    p->options.ca50 = 30.0;
    p->options.peak_pressure = 1.0;
    assert_int_equal(shv_cycle_table_build(&p->table, &p->spec, &p->options, NULL, NULL), SHV_OK);
    assert_int_equal(cycle_cache_key(&p->spec, &p->options, p->key, NULL), SHV_OK);
    (void)snprintf(p->path, sizeof p->path, "%s/" CYCLE_CACHE_FILE, p->folder);
    *state = p;
    return 0;
}

static inline int files_in(const char *folder, bool remove_them)
{
    int count = 0;
    DIR *d = opendir(folder);
    assert_non_null(d);
    for (struct dirent *e = readdir(d); e; e = readdir(d)) {
        if (e->d_name[0] == '.') {
            continue;
        }
        char path[512];
        (void)snprintf(path, sizeof path, "%s/%s", folder, e->d_name);
        count++;
        if (remove_them) {
            assert_int_equal(remove(path), 0);
        }
    }
    assert_int_equal(closedir(d), 0);
    return count;
}

static inline int tear_down(void **state)
{
    struct place *p = *state;
    (void)files_in(p->folder, true);
    assert_int_equal(rmdir(p->folder), 0);
    shv_cycle_table_free(&p->table);
    free(p);
    return 0;
}

static inline void stored(const struct place *p)
{
    char note[CYCLE_CACHE_NOTE] = "";
    assert_true(cycle_cache_store(p->folder, p->key, &p->table, note));
    assert_string_equal(note, "");
}

#endif
