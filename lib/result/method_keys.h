/* SPDX-License-Identifier: MIT
 *
 * The keys of a method's file. Internal to lib/result.
 */
#ifndef RESULT_METHOD_KEYS_H
#define RESULT_METHOD_KEYS_H

#include "result/method.h"
#include "result/method_values.h"

struct method_key;
/* value may be changed. False: why, or nothing where the key's shape was not met. */
typedef bool method_key_read(
	const struct method_key *key, char *value, struct method *method, struct message *why);

struct method_key {
	const char *section, *name;
	const char *shape; /* what is meant, for the error */
	method_key_read *read;
	size_t offset, size;             /* of the member */
	const struct method_unit *units; /* of a number */
	bool often;                      /* may be given more than once */
};

enum { METHOD_KEY_COUNT = 43 };

extern const struct method_key method_keys[METHOD_KEY_COUNT];

#endif
