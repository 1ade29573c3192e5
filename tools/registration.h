/* SPDX-License-Identifier: MIT
 *
 * What can be said of a specimen, one table: the options of `ramplog register`, the columns of its
 * CSV files and their help are all made from it.
 */
#ifndef TOOLS_REGISTRATION_H
#define TOOLS_REGISTRATION_H

#include "result/detail.h"

struct registration {
	struct specimen specimen;
	struct detail detail;
	bool has_shape;
};

struct registration_field {
	const char *name; /* of the option, and of the column (there with _ for - too) */
	const char *argument;
	const char *help;
	int group; /* options of one group stand together in --help */
	/* False: why is what is wrong with the text. factor: micrometres, or pascals, in the unit.
	 */
	bool (*take)(struct registration *registration, const struct registration_field *field,
		const char *text, struct message *why);
	double factor;
	enum shape shape;
};

/* Ended by a row without a name. */
extern const struct registration_field registration_fields[];

void registration_init(struct registration *registration);
bool registration_take(
	struct registration *registration, size_t field, const char *text, struct message *why);
/* Makes of several measures the ones that count; asks for the id and the area, and whether the
 * method lets such a specimen be registered. */
bool registration_finish(struct registration *registration, struct message *why);
/* The rules that are the specimen's and the method's alone. */
bool registration_check(const struct registration *registration, struct message *why);

/* The measured ones of a lot stand for all of it: the widths of the others are not known yet. */
bool registration_is_unmeasured(const struct registration *registration);

#endif
