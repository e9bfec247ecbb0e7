/* Files that keep cycle tables. Format, in the machine's own order of bytes:
 *
 *   8 bytes   "SHVCYCLE"
 *   u32       0x01020304, which tells the order of bytes
 *   u32       version of the format
 *   64 bytes  key, hexadecimal
 *   u64       bytes of the payload
 *   64 bytes  SHA-256 of the payload, hexadecimal
 *   payload   u64 speeds and nodes of each direction; quality; axes; speeds; surfaces; volumes
 */
#ifndef SHEAVE_BATCH_CYCLE_CACHE_H
#define SHEAVE_BATCH_CYCLE_CACHE_H

#include "sheave/cycle_table.h"

#define CYCLE_CACHE_NOTE 512

/* SHA-256 over the format's version, every input that matters, and results of a few direct cycles,
 * so that another model makes another key. Errors: SHV_BAD_INPUT of the direct cycle. */
enum shv_status cycle_cache_key(const struct shv_cycle_table_spec *spec,
                                const struct shv_cycle_table_options *options, char key[65],
                                struct shv_message *message);

/* Reads the table of this key. False, with a note and an empty table, when there is none that can
 * be trusted. */
bool cycle_cache_load(const char *folder, const char *key, struct shv_cycle_table *table,
                      char note[CYCLE_CACHE_NOTE]);

/* Writes it under a name of its own, syncs and renames, so that whoever reads sees a whole file,
 * whoever else writes. False with a note. */
bool cycle_cache_store(const char *folder, const char *key, const struct shv_cycle_table *table,
                       char note[CYCLE_CACHE_NOTE]);

#endif
