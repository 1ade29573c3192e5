/* SPDX-License-Identifier: MIT
 *
 * A specimen as measured before the test, and what follows from its dimensions.
 */
#ifndef RESULT_SPECIMEN_H
#define RESULT_SPECIMEN_H

#include "base/clocks.h"
#include "base/message.h"

#include <stdbool.h>
#include <stdint.h>

enum { SPECIMEN_NAME_SIZE = 48, SPECIMEN_METHOD_SIZE = 32 };

enum shape {
	SHAPE_CYLINDER,
	SHAPE_CUBE,
	SHAPE_PRISM, /* stands upright under the load, like a masonry prism */
	SHAPE_BEAM,  /* lies on two supports */
	SHAPE_COUNT,
};

struct specimen {
	char id[SPECIMEN_NAME_SIZE];  /* 1 to 47 bytes, printable UTF-8, no spaces at the ends */
	char set[SPECIMEN_NAME_SIZE]; /* companions of one batch and age; "" none */
	enum shape shape;
	/* cylinder: two diameters at right angles at mid-height (equal where one was taken);
	 * cube and prism: the two edges of the loaded face; beam: width and depth */
	int64_t width_um[2];
	int64_t length_um;     /* cylinder: length; cube and prism: height; beam: the span between
				* the supports; 0: not measured */
	struct utc_time cast;  /* start of casting; ns 0: not stated */
	double anticipated_pa; /* anticipated strength; 0: none */
	char method[SPECIMEN_METHOD_SIZE];
	double chosen_rate_pa_s; /* where the method lets one choose; 0: its default */
};

const char *shape_text(enum shape shape); /* "cylinder", "cube", "prism", "beam" */
bool shape_parse(const char *text, enum shape *shape);

/* Checks what was typed: names, dimensions between 10 mm and 1 m, diameters of one cylinder within
 * 2 % of each other (ASTM C39), length/width between 0.5 and 5. */
bool specimen_check(const struct specimen *specimen, struct message *why);
/* The same without the names, for a curve that is judged without being registered. Anticipated
 * strength: 0 to 500 MPa. */
bool specimen_check_numbers(const struct specimen *specimen, struct message *why);

/* Cross-section in m2: pi/4 x mean diameter squared, or the product of the two edges. What a load
 * is divided by is the method's to say: method_area_m2. */
double specimen_area_m2(const struct specimen *specimen);
/* Length over mean width, of a prism over the smaller one; 0 where the length was not measured. */
double specimen_ratio(const struct specimen *specimen);

#endif
