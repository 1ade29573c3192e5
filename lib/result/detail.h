/* SPDX-License-Identifier: MIT
 *
 * What was measured and seen of a specimen beside its dimensions, before the test: mass, ends,
 * caps, moisture, the age that it is to be tested at. What the method forbids is refused; what it
 * asks to be noted is a flag, in words.
 */
#ifndef RESULT_DETAIL_H
#define RESULT_DETAIL_H

#include "result/method.h"

enum { DETAIL_FLAGS_MAX = 12, DETAIL_WIDTHS_MAX = 8, DETAIL_LENGTHS_MAX = 4 };

enum detail_ends {
	DETAIL_ENDS_UNSTATED,
	DETAIL_ENDS_AS_CAST, /* neither ground nor capped */
	DETAIL_ENDS_GROUND,
	DETAIL_ENDS_BONDED,   /* bonded caps */
	DETAIL_ENDS_UNBONDED, /* unbonded caps: pads in rings */
};

enum detail_moist {
	DETAIL_MOIST_UNSTATED,
	DETAIL_MOIST_YES,
	DETAIL_MOIST_NO,
};

struct detail {
	int64_t intended_age_ns; /* 0: not stated */
	int64_t mass_mg;         /* 0: not weighed */
	enum detail_ends ends;
	char pad[SPECIMEN_NAME_SIZE]; /* which pair of pads; "" none */
	int pad_hardness;             /* Shore A; 0: not stated */
	int64_t out_of_square_udeg;   /* millionths of a degree; -1: not measured */
	int64_t out_of_plane_um;      /* -1: not measured */
	enum detail_moist moist;
	char lot[SPECIMEN_NAME_SIZE]; /* of moulds; "" not stated */
	bool reduced; /* the day's mean of its mould lot counts, see detail_reduced */
	/* Each measure, where there are more than the specimen holds or where others count. */
	size_t width_count, length_count;
	int64_t widths_um[DETAIL_WIDTHS_MAX], lengths_um[DETAIL_LENGTHS_MAX];
};

/* Nothing stated or measured. */
void detail_init(struct detail *detail);
bool detail_is_empty(const struct detail *detail);

/* To the nearest; 0 of none. */
int64_t detail_mean_um(const int64_t *values_um, size_t count);

/* "unstated", "as cast", "ground", "bonded", "unbonded"; "unstated", "yes", "no". */
const char *detail_ends_text(enum detail_ends ends);
bool detail_ends_parse(const char *text, enum detail_ends *ends);
const char *detail_moist_text(enum detail_moist moist);
bool detail_moist_parse(const char *text, enum detail_moist *moist);

struct detail_flags {
	size_t count;
	struct message flags[DETAIL_FLAGS_MAX];
};

/* False: the method lets nobody test such a specimen; why. True: what is to be noted is in flags.
 * pad_uses: how often the pads were used before. */
bool detail_check(const struct method *method, const struct specimen *specimen,
	const struct detail *detail, int pad_uses, struct detail_flags *flags, struct message *why);

/* Mass over volume in kg/m3; 0 where mass or length is not known. */
double detail_density_kg_m3(const struct specimen *specimen, const struct detail *detail);
/* "2360 kg/m3": rounded once to the method's step, in its unit. "" where there is none. */
void detail_density_text(
	const struct method *method, double density_kg_m3, char *text, size_t size);

/* Reduced measuring: how many of a day's specimens must be measured, and whether the diameters
 * measured agree well enough that their mean may stand for all. */
size_t detail_reduced_count(const struct method *method, size_t specimens);
bool detail_reduced(const struct method *method, const int64_t *diameters_um, size_t measured,
	size_t specimens, int64_t *mean_um, struct message *why);

#endif
