/* A database that keeps cycle tables from run to run: in a file of SQLite, for each key the table's
 * numbers in the machine's own order of bytes (u64 speeds and nodes of each direction; quality;
 * axes; speeds; motored peaks; volumes) and their SHA-256. Several processes may use it at once. It
 * is opened for a table and closed again; whatever is wrong with it, tables are built and a note
 * says what it was.
 */
#ifndef SHEAVE_SWEEP_CYCLE_CACHE_H
#define SHEAVE_SWEEP_CYCLE_CACHE_H

#include "sheave/cycle_table.h"

#define CYCLE_CACHE_FILE "cycle-tables.db"
#define CYCLE_CACHE_NOTE 512

/* SHA-256 over the format's version, the order of bytes, every input that matters, and results of a
 * few direct cycles, so that another model makes another key. Errors: SHV_BAD_INPUT of the direct
 * cycle. */
enum shv_status cycle_cache_key(const struct shv_cycle_table_spec *spec,
                                const struct shv_cycle_table_options *options, char key[65],
                                struct shv_message *message);

/* Reads the table of this key. False, with an empty table, when there is none that can be trusted;
 * the note says why, and is empty when none was kept before. */
bool cycle_cache_load(const char *folder, const char *key, struct shv_cycle_table *table,
                      char note[CYCLE_CACHE_NOTE]);

/* Keeps a table, in place of what stood under its key. A damaged database is begun anew. False with
 * a note. */
bool cycle_cache_store(const char *folder, const char *key, const struct shv_cycle_table *table,
                       char note[CYCLE_CACHE_NOTE]);

#endif
