/* SPDX-License-Identifier: MIT
 *
 * The age of a specimen at its test, counted from the hour at which casting began.
 */
#ifndef RESULT_AGE_H
#define RESULT_AGE_H

#include "base/clocks.h"
#include "result/method.h"

enum { AGE_TEXT_SIZE = 24 };

struct age {
	int64_t ns;           /* at the test; 0: the hour of casting is not known */
	int64_t intended_ns;  /* 0: none was stated */
	int64_t tolerance_ns; /* of the intended age by the method; 0: it gives none */
	bool outside;         /* by more than the tolerance: tested, reported, and flagged */
};

/* "28d", "28 d", "24h", "36 h": from an hour to 100 years. */
bool age_parse(const char *text, int64_t *ns);
/* As reported: days from three days on, with one decimal where it is not whole, else hours. */
void age_text(int64_t ns, char *text);

/* The tolerance of a listed age, else the method's share of it; 0: none. */
int64_t age_tolerance_ns(const struct method *method, int64_t age_ns);

struct age age_of(const struct method *method, struct utc_time cast, struct utc_time tested,
	int64_t intended_ns);

/* When a specimen is due, and until when and from when it may be tested. */
struct age_due {
	struct utc_time from, at, until;
};
struct age_due age_due(const struct method *method, struct utc_time cast, int64_t intended_ns);

#endif
