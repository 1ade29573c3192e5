/* SPDX-License-Identifier: MIT
 *
 * The verification of a press: what a comparison with a reference device says of its accuracy, and
 * whether a load may be reported on the strength of it. Terms and rules of ASTM E4, with ASTM C39's
 * own rules for the loading range where it sets them (all values from memory of the standards).
 *
 * An error found by a verification never corrects a load: C39 forbids it, and nothing here gives
 * out a corrected load. Pure arithmetic; times are arguments.
 */
#ifndef RESULT_VERIFICATION_H
#define RESULT_VERIFICATION_H

#include "base/clocks.h"
#include "base/message.h"
#include "result/specimen.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum {
	VERIFICATION_RUNS = 2,         /* E4: the forces are applied at least twice */
	VERIFICATION_FORCES_LEAST = 5, /* E4, C39: at least five of them */
	VERIFICATION_FORCES_MAX = 20,
	VERIFICATION_MONTHS = 13, /* C39: due this long after the last one */
	VERIFICATION_TEXT_SIZE = 128,
	VERIFICATION_REASON_SIZE = 320,
};

/* One force, applied once in each run. */
struct verification_force {
	int64_t true_un[VERIFICATION_RUNS];      /* as the reference device has it, B */
	int64_t indicated_un[VERIFICATION_RUNS]; /* as the press has it, A */
	/* 100 (A - B) / B; the loads are 0 where a certificate gives nothing but this */
	double error_percent[VERIFICATION_RUNS];
};

struct verification {
	int64_t number; /* 0: not stored yet */
	char press[SPECIMEN_NAME_SIZE];
	struct utc_time verified; /* when it was carried out */
	bool guided;              /* taken with this program, not typed from paper */
	char certificate[VERIFICATION_TEXT_SIZE]; /* its number; "" none */
	char reference[VERIFICATION_TEXT_SIZE];   /* the reference device and its own certificate */
	int64_t capacity_un;                      /* of the press, as configured */
	int64_t increment_un;                     /* the smallest change of load that can be read */
	int64_t resolution_un;
	int64_t return_un[VERIFICATION_RUNS]; /* reading after the run less that before; guided */
	size_t force_count;
	struct verification_force forces[VERIFICATION_FORCES_MAX]; /* by rising force */
	int64_t low_un, high_un; /* verified range; printed on a certificate, else derived */
	/* derived by verification_judge */
	double worst_percent;         /* the error farthest from 0, with its sign */
	double repeatability_percent; /* largest difference of a force's two errors */
	bool passed;
	char reason[VERIFICATION_REASON_SIZE]; /* what was not met; "" */
};

/* 100 (A - B) / B: divided by the true force. B > 0. */
double verification_error_percent(int64_t indicated_un, int64_t true_un);
/* Within 1.0 % of the true force, the limit included; decided in whole numbers. */
bool verification_within(int64_t indicated_un, int64_t true_un);
/* The increment, or half the flutter (peak to peak, under a steady load) where the reading flutters
 * by more than twice the increment. */
int64_t verification_resolution_un(int64_t increment_un, int64_t flutter_un);
/* The lowest load that a verified range may begin with: the largest of 200 x resolution (E4),
 * 100 x increment and 10 % of the capacity (C39). */
int64_t verification_floor_un(const struct verification *verification);
/* How far from the first zero the unloaded press may read after a run: the largest of the
 * resolution, 0.1 % of the largest force applied, 1 % of the lowest verified one. */
int64_t verification_return_limit_un(int64_t resolution_un, int64_t most_un, int64_t low_un);

/* What no verification can be: no reference, no forces, a time to come. False: why says what is
 * missing. Such a one is not stored; one that merely fails is. */
bool verification_check(
	const struct verification *verification, struct utc_time now, struct message *why);
/* Derives errors (guided), range (guided), worst error, repeatability, and whether it passes. */
void verification_judge(struct verification *verification);

/* ---- what holds for a press at a time */

/* What happens to a press beside its tests, and is written down by a person. */
enum upkeep {
	UPKEEP_RELOCATION, /* a verification is due at once after these three */
	UPKEEP_REPAIR,
	UPKEEP_DOUBT,
	UPKEEP_SOCKET_CARE, /* ball and socket cleaned and oiled */
};

const char *upkeep_text(enum upkeep upkeep); /* "relocation" ... "socket_care"; static */
bool upkeep_parse(const char *text, enum upkeep *upkeep);

enum standing_kind {
	STANDING_NEVER,   /* no verification of this press is recorded */
	STANDING_VALID,   /* verified, and not due again yet */
	STANDING_OVERDUE, /* 13 months are over */
	STANDING_FAILED,  /* the last one was not passed */
	STANDING_VOID,    /* the press was moved, repaired or doubted since */
	STANDING_UNKNOWN, /* the run was stored by a program that kept no verification */
};

const char *standing_kind_text(enum standing_kind kind); /* "valid" and so on; static */
bool standing_kind_parse(const char *text, enum standing_kind *kind);

struct standing {
	enum standing_kind kind;
	int64_t verification; /* number of the last one; 0: none, and the rest is 0 */
	struct utc_time verified, due;
	int64_t low_un, high_un;           /* verified range */
	char note[VERIFICATION_TEXT_SIZE]; /* STANDING_VOID: "repair: new pump" */
};

/* Something that makes a verification due at once. */
struct standing_break {
	enum upkeep upkeep;
	struct utc_time at;
	const char *note; /* "" none */
};

/* last: the newest verification that had been carried out by then, or NULL; broken: the newest
 * relocation, repair or doubt, or NULL. */
void standing_at(struct standing *standing, const struct verification *last,
	const struct standing_break *broken, struct utc_time now);

/* Whether a run that began in that standing and reached that maximum may be reported as far as the
 * press's verification is concerned; maximum_un <= 0: no load was reached, only the standing
 * counts. False: why says for what reason. */
bool standing_reportable(const struct standing *standing, int64_t maximum_un, struct message *why);

/* ---- ball and socket of the upper block */

enum { UPKEEP_CARE_MONTHS = 6 }; /* C39: cleaned and oiled at least this often */

/* True: it is due; why says since when. last: of the last care, ns 0: none is recorded. */
bool upkeep_care_is_due(struct utc_time last, struct utc_time now, struct message *why);

#endif
