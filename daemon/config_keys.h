/* SPDX-License-Identifier: MIT
 *
 * The table of configuration keys and the types of their values. Internal to daemon/config*.c.
 */
#ifndef DAEMON_CONFIG_KEYS_H
#define DAEMON_CONFIG_KEYS_H

#include "base/text.h"
#include "config.h"

enum config_scope {
	CONFIG_RAMPLOGD,
	CONFIG_PRESS,
	CONFIG_CELL,
	CONFIG_SCOPES,
};

struct config_key;

struct config_type {
	const char *name; /* for the manual */
	/* Reads text into target; false: why says what is meant instead. */
	bool (*read)(
		const struct config_key *key, const char *text, void *target, struct message *why);
	void (*write)(const void *target, struct text *text);
};

struct config_key {
	enum config_scope scope;
	const char *name;
	const struct config_type *type;
	double low, high; /* permitted range in unit; both 0: none */
	const char
		*standard; /* the default; NULL: the key must be given; "": follows from others */
	const char *unit;  /* of low and high */
	const char *help;
	size_t offset;    /* into struct config, config_press or config_cell */
	const char *only; /* the one protocol it is for, CONFIG_ASKED, or NULL: every one */
};

/* For protocols in which the instrument can be asked. */
#define CONFIG_ASKED "asked"

/* Whether the key says anything of a cell with this decoder. */
bool config_key_applies(const struct config_key *key, const struct decoder *decoder);

/* "ramplogd", "press", "cell" */
const char *config_scope_text(enum config_scope scope);

/* For the types of keys: one of the choices (the list ends with NULL); a decimal number and the
 * unit after it, if any. */
bool config_read_choice(const struct config_key *key, const char *text, const char *const *choices,
	int *chosen, struct message *why);
/* False: outside of the key's range; why says so. */
bool config_in_range(
	const struct config_key *key, const char *text, double value, struct message *why);
bool config_split_quantity(const char *text, struct decimal *number, const char **unit);

extern const struct config_key config_keys[];
extern const size_t config_key_count;

#endif
