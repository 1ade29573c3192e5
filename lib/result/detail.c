/* SPDX-License-Identifier: MIT
 *
 * The rules are the method's data; a rule that it does not have is not looked at.
 */
#include "result/detail.h"

#include "base/decimal.h"
#include "base/units.h"

#include <assert.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define KG_M3_PER_LB_FT3 16.01846337396

static const char *const ends_texts[] = {"unstated", "as cast", "ground", "bonded", "unbonded"};
static const char *const moist_texts[] = {"unstated", "yes", "no"};

enum {
	ENDS_COUNT = sizeof ends_texts / sizeof ends_texts[0],
	MOIST_COUNT = sizeof moist_texts / sizeof moist_texts[0],
	DECIMAL_SIZE = 24,
	LENGTH_SIZE = 32, /* of a text */
	WARN_TENTHS = 9,  /* pads are warned of from nine tenths of their uses on */
};

void detail_init(struct detail *detail)
{
	*detail = (struct detail){.out_of_square_udeg = -1, .out_of_plane_um = -1};
}

bool detail_is_empty(const struct detail *detail)
{
	return detail->intended_age_ns == 0 && detail->mass_mg == 0 &&
	       detail->ends == DETAIL_ENDS_UNSTATED && !detail->pad[0] &&
	       detail->pad_hardness == 0 && detail->out_of_square_udeg < 0 &&
	       detail->out_of_plane_um < 0 && detail->moist == DETAIL_MOIST_UNSTATED &&
	       !detail->lot[0] && !detail->reduced && detail->width_count == 0 &&
	       detail->length_count == 0;
}

int64_t detail_mean_um(const int64_t *values_um, size_t count)
{
	int64_t sum = 0;
	for (size_t i = 0; i < count; i++)
		sum += values_um[i];
	return count ? (sum + (int64_t)count / 2) / (int64_t)count : 0;
}

const char *detail_ends_text(enum detail_ends ends)
{
	assert((int)ends >= 0 && (int)ends < ENDS_COUNT);
	return ends_texts[ends];
}

const char *detail_moist_text(enum detail_moist moist)
{
	assert((int)moist >= 0 && (int)moist < MOIST_COUNT);
	return moist_texts[moist];
}

static bool find_word(const char *const *words, int count, const char *text, int *value)
{
	for (*value = 0; *value < count; ++*value) {
		if (strcmp(words[*value], text) == 0)
			return true;
	}
	return false;
}

bool detail_ends_parse(const char *text, enum detail_ends *ends)
{
	int value;
	bool known = find_word(ends_texts, ENDS_COUNT, text, &value);
	*ends = known ? (enum detail_ends)value : DETAIL_ENDS_UNSTATED;
	return known;
}

bool detail_moist_parse(const char *text, enum detail_moist *moist)
{
	int value;
	bool known = find_word(moist_texts, MOIST_COUNT, text, &value);
	*moist = known ? (enum detail_moist)value : DETAIL_MOIST_UNSTATED;
	return known;
}

static void flag(struct detail_flags *flags, const char *format, ...)
	__attribute__((format(printf, 2, 3)));

static void flag(struct detail_flags *flags, const char *format, ...)
{
	va_list arguments;
	assert(flags->count < DETAIL_FLAGS_MAX);
	va_start(arguments, format);
	vsnprintf(flags->flags[flags->count++].text, MESSAGE_SIZE, format, arguments);
	va_end(arguments);
}

/* In thousandths of the unit in which the method has lengths measured, and that unit. */
static void length_text(const struct method *method, int64_t um, char text[LENGTH_SIZE])
{
	int64_t thousandths = method->inch_pound ? (um * 10 + 127) / 254 : um;
	char number[DECIMAL_SIZE];
	decimal_text(thousandths, 3, number);
	snprintf(text, LENGTH_SIZE, "%s %s", number, method->inch_pound ? "in" : "mm");
}

static void look_at_measuring(const struct method *method, const struct specimen *specimen,
	const struct detail *detail, struct detail_flags *flags)
{
	int64_t step = method->width_to_um;
	double step_shown =
		(double)step / (double)(method->inch_pound ? UNITS_UM_PER_INCH : UNITS_UM_PER_MM);
	const int64_t *widths = detail->width_count ? detail->widths_um : specimen->width_um;
	size_t count = detail->width_count ? detail->width_count : detail->reduced ? 0 : 2;
	char width[LENGTH_SIZE];
	for (size_t i = 0; i < count && step > 0; i++) {
		if (widths[i] % step == 0)
			continue;
		length_text(method, widths[i], width);
		flag(flags, "%s is not to the nearest %g %s, to which %s has widths measured",
			width, step_shown, method->inch_pound ? "in" : "mm", method->standard);
		break;
	}
	double ratio = specimen_ratio(specimen);
	bool unusual = method->ratio_usual_high > 0 && ratio > 0 &&
		       (ratio < method->ratio_usual_low || ratio > method->ratio_usual_high);
	if (unusual)
		flag(flags, "length / diameter %.2f is outside %g to %g: the length is reported",
			ratio, method->ratio_usual_low, method->ratio_usual_high);
}

static bool check_ends(const struct method *method, const struct detail *detail,
	struct detail_flags *flags, struct message *why)
{
	bool capped = detail->ends == DETAIL_ENDS_BONDED || detail->ends == DETAIL_ENDS_UNBONDED;
	double square_deg = (double)detail->out_of_square_udeg / 1e6;
	if (method->square_within_deg > 0 && square_deg > method->square_within_deg)
		return message_set(why,
			"an end is %.2f degrees out of square, more than the %g degrees of %s: it "
			"is not "
			"tested so; saw or grind it",
			square_deg, method->square_within_deg, method->standard);
	if (method->plane_within_um > 0 && detail->out_of_plane_um > method->plane_within_um &&
		!capped)
		return message_set(why,
			"an end is %.3f mm out of plane, more than the %.3f mm of %s: saw, grind "
			"or cap "
			"it",
			(double)detail->out_of_plane_um / 1e3,
			(double)method->plane_within_um / 1e3, method->standard);
	if (method->moist && detail->moist == DETAIL_MOIST_NO)
		flag(flags, "the specimen was not kept moist until the test, as %s asks",
			method->standard);
	return true;
}

static const struct method_pad *find_pad(
	const struct method *method, int hardness, double strength_pa)
{
	for (size_t i = 0; i < method->pad_count; i++) {
		const struct method_pad *pad = &method->pads[i];
		if (pad->hardness == hardness && strength_pa >= pad->low_pa &&
			strength_pa <= pad->high_pa)
			return pad;
	}
	return NULL;
}

static void look_at_pads(const struct method *method, const struct specimen *specimen,
	const struct detail *detail, int uses, struct detail_flags *flags)
{
	if (detail->ends != DETAIL_ENDS_UNBONDED || method->pad_count == 0)
		return;
	if (detail->pad_hardness == 0 || !(specimen->anticipated_pa > 0)) {
		flag(flags,
			"whether the pads suit the strength is not known: state their hardness and "
			"the anticipated strength");
		return;
	}
	const struct method_pad *pad =
		find_pad(method, detail->pad_hardness, specimen->anticipated_pa);
	double unit_pa = method->inch_pound ? UNITS_PASCAL_PER_PSI : UNITS_PASCAL_PER_MPA;
	if (!pad) {
		flag(flags, "no pads of hardness %d for %.0f %s in %s", detail->pad_hardness,
			specimen->anticipated_pa / unit_pa, method->inch_pound ? "psi" : "MPa",
			method->standard);
		return;
	}
	if (pad->qualified)
		flag(flags, "pads of hardness %d at %.0f %s need the qualification tests",
			detail->pad_hardness, specimen->anticipated_pa / unit_pa,
			method->inch_pound ? "psi" : "MPa");
	if (uses >= pad->uses)
		flag(flags, "pads %s were used %d times, and may be %d times: replace them",
			detail->pad, uses, pad->uses);
	else if (uses * 10 >= pad->uses * WARN_TENTHS)
		flag(flags, "pads %s were used %d times of %d", detail->pad, uses, pad->uses);
}

/* Any of them from any other of the same specimen. */
static bool check_apart(const struct method *method, const struct specimen *specimen,
	const struct detail *detail, struct message *why)
{
	int64_t low = specimen->width_um[0], high = low;
	const int64_t *widths = detail->width_count ? detail->widths_um : specimen->width_um;
	size_t count = detail->width_count ? detail->width_count : 2;
	if (!(method->widths_apart > 0))
		return true;
	for (size_t i = 0; i < count; i++) {
		low = i == 0 || widths[i] < low ? widths[i] : low;
		high = i == 0 || widths[i] > high ? widths[i] : high;
	}
	if ((double)(high - low) <= method->widths_apart * (double)low)
		return true;
	char narrow[LENGTH_SIZE], wide[LENGTH_SIZE];
	length_text(method, low, narrow);
	length_text(method, high, wide);
	return message_set(why,
		"widths %s and %s differ by more than %g %%: %s lets it not be tested", narrow,
		wide, 100 * method->widths_apart, method->standard);
}

bool detail_check(const struct method *method, const struct specimen *specimen,
	const struct detail *detail, int pad_uses, struct detail_flags *flags, struct message *why)
{
	flags->count = 0;
	if (!check_apart(method, specimen, detail, why))
		return false;
	look_at_measuring(method, specimen, detail, flags);
	if (!check_ends(method, detail, flags, why))
		return false;
	look_at_pads(method, specimen, detail, pad_uses, flags);
	return true;
}

double detail_density_kg_m3(const struct specimen *specimen, const struct detail *detail)
{
	double volume_m3 = specimen_area_m2(specimen) * (double)specimen->length_um / 1e6;
	return volume_m3 > 0 ? (double)detail->mass_mg / 1e6 / volume_m3 : 0;
}

void detail_density_text(const struct method *method, double density_kg_m3, char *text, size_t size)
{
	bool pounds = strcmp(method->density_unit, "lb/ft3") == 0;
	text[0] = '\0';
	if (method->density_step == 0 || !(density_kg_m3 > 0))
		return;
	double density = pounds ? density_kg_m3 / KG_M3_PER_LB_FT3 : density_kg_m3;
	long long steps = (long long)decimal_round_even(density, method->density_step, 0);
	snprintf(text, size, "%lld %s", steps * method->density_step, method->density_unit);
}

size_t detail_reduced_count(const struct method *method, size_t specimens)
{
	if (method->reduced_one_in == 0)
		return specimens;
	size_t one_in = (size_t)method->reduced_one_in, a_day = (size_t)method->reduced_a_day;
	size_t share = (specimens + one_in - 1) / one_in;
	size_t count = share > a_day ? share : a_day;
	return count < specimens ? count : specimens;
}

bool detail_reduced(const struct method *method, const int64_t *diameters_um, size_t measured,
	size_t specimens, int64_t *mean_um, struct message *why)
{
	size_t needed = detail_reduced_count(method, specimens);
	if (method->reduced_one_in == 0)
		return message_set(why, "%s has every specimen measured", method->standard);
	if (measured < needed || measured == 0)
		return message_set(why, "of %zu specimens %zu must be measured, not %zu", specimens,
			needed, measured);
	int64_t low = diameters_um[0], high = low;
	for (size_t i = 0; i < measured; i++) {
		low = diameters_um[i] < low ? diameters_um[i] : low;
		high = diameters_um[i] > high ? diameters_um[i] : high;
	}
	if (high - low > method->reduced_within_um)
		return message_set(why,
			"the diameters of the lot are %.2f mm apart, more than %.2f mm: measure "
			"each "
			"specimen",
			(double)(high - low) / 1e3, (double)method->reduced_within_um / 1e3);
	*mean_um = detail_mean_um(diameters_um, measured);
	return true;
}
