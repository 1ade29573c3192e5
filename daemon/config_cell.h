/* SPDX-License-Identifier: MIT
 *
 * Types of the keys that say how a cell's protocol is set up, and what follows from them. Internal
 * to daemon/config*.c.
 */
#ifndef DAEMON_CONFIG_CELL_H
#define DAEMON_CONFIG_CELL_H

#include "config_keys.h"

extern const struct config_type config_type_pattern;
extern const struct config_type config_type_request;
extern const struct config_type config_type_registers;
extern const struct config_type config_type_register_type;
extern const struct config_type config_type_word_order;
extern const struct config_type config_type_area;
extern const struct config_type config_type_bytes;

/* Fills in what follows from the cell's own keys; without has_scale nothing of unit, factor and
 * area. False: why says what does not fit, *key names the
 * key whose line is meant. */
bool config_cell_settle(
	struct config_cell *cell, bool factor_given, const char **key, struct message *why);
/* What the cell's example decodes to, for a person; false: why says what is wrong with it. */
bool config_cell_example(const struct config_cell *cell, struct text *text, struct message *why);
/* The load that it stands for; false: there is no example, or no load in it. */
bool config_cell_load(const struct config_cell *cell, int64_t *load_un);

#endif
