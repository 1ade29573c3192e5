/* SPDX-License-Identifier: MIT
 *
 * What was typed about a specimen, checked, and what follows from its dimensions. It does not know
 * test methods (see method_specimen_check).
 */
#include "result/specimen.h"

#include "base/decimal.h"
#include "base/text.h"
#include "base/units.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Outside these a number was mistyped or is in another unit. */
#define DIMENSION_UM_MIN (10 * UNITS_UM_PER_MM)
#define DIMENSION_UM_MAX (1000 * UNITS_UM_PER_MM)
#define RATIO_MIN 0.5
#define RATIO_MAX 5.0
/* Far above any concrete, and far below a strength in psi or kPa taken for one in MPa. */
#define ANTICIPATED_PA_MAX (500 * UNITS_PASCAL_PER_MPA)
/* ASTM C39: no diameter of a cylinder may differ from any other by more than 2 %. */
#define DIAMETERS_PART 50

static const char *const shape_texts[] = {
	[SHAPE_CYLINDER] = "cylinder",
	[SHAPE_CUBE] = "cube",
	[SHAPE_PRISM] = "prism",
	[SHAPE_BEAM] = "beam",
};

_Static_assert(sizeof(shape_texts) / sizeof(shape_texts[0]) == SHAPE_COUNT, "a word a shape");

const char *shape_text(enum shape shape)
{
	assert((int)shape >= 0 && (int)shape < SHAPE_COUNT);
	return shape_texts[shape];
}

bool shape_parse(const char *text, enum shape *shape)
{
	for (int i = 0; i < SHAPE_COUNT; i++) {
		if (strcmp(text, shape_texts[i]) == 0) {
			*shape = (enum shape)i;
			return true;
		}
	}
	return false;
}

/* A length in millimetres, for a message. */
struct shown {
	char text[24];
};

static struct shown show_mm(int64_t um)
{
	struct shown shown;
	decimal_text(um, 3, shown.text);
	return shown;
}

static bool check_name(const char *what, const char *name, bool required, struct message *why)
{
	size_t length = strnlen(name, SPECIMEN_NAME_SIZE);
	if (length == 0 && !required)
		return true;
	if (length == 0)
		return message_set(why, "%s: give it 1 to %d bytes", what, SPECIMEN_NAME_SIZE - 1);
	if (length == SPECIMEN_NAME_SIZE)
		return message_set(why, "%s: longer than %d bytes", what, SPECIMEN_NAME_SIZE - 1);
	if (!text_is_printable(name))
		return message_set(why,
			"%s: control characters or bytes that are not UTF-8: use printable ones",
			what);
	if (name[0] == ' ' || name[length - 1] == ' ')
		return message_set(why, "%s \"%s\": a space at an end: leave it out", what, name);
	return true;
}

static bool check_dimension(const char *what, int64_t um, struct message *why)
{
	if (um >= DIMENSION_UM_MIN && um <= DIMENSION_UM_MAX)
		return true;
	return message_set(
		why, "%s %s mm is not between 10 mm and 1000 mm", what, show_mm(um).text);
}

static bool check_widths(const struct specimen *specimen, struct message *why)
{
	const char *what = specimen->shape == SHAPE_CYLINDER ? "diameter" : "side";
	int64_t a = specimen->width_um[0], b = specimen->width_um[1];
	if (!check_dimension(what, a, why) || !check_dimension(what, b, why))
		return false;
	if (specimen->shape == SHAPE_CYLINDER && DIAMETERS_PART * llabs(a - b) > (a < b ? a : b))
		return message_set(why,
			"diameters %s mm and %s mm differ by more than 2 %%: "
			"such a cylinder is not tested",
			show_mm(a).text, show_mm(b).text);
	return true;
}

bool specimen_check_numbers(const struct specimen *specimen, struct message *why)
{
	if ((int)specimen->shape < 0 || (int)specimen->shape >= SHAPE_COUNT)
		return message_set(why, "shape: neither cylinder, cube, prism nor beam");
	if (!check_widths(specimen, why))
		return false;
	if (specimen->length_um != 0) {
		const char *what = specimen->shape == SHAPE_CYLINDER ? "length" : "height";
		if (!check_dimension(what, specimen->length_um, why))
			return false;
		double ratio = specimen_ratio(specimen);
		if (ratio < RATIO_MIN || ratio > RATIO_MAX)
			return message_set(why,
				"%s %s mm is %.2f times the width: not between 0.5 and 5", what,
				show_mm(specimen->length_um).text, ratio);
	}
	if (!(specimen->anticipated_pa >= 0 && specimen->anticipated_pa <= ANTICIPATED_PA_MAX))
		return message_set(why,
			"anticipated strength %g MPa is not between 0 and 500 MPa: another unit?",
			specimen->anticipated_pa / UNITS_PASCAL_PER_MPA);
	if (!(specimen->chosen_rate_pa_s >= 0 && isfinite(specimen->chosen_rate_pa_s)))
		return message_set(why, "chosen rate %g MPa/s is no rate",
			specimen->chosen_rate_pa_s / UNITS_PASCAL_PER_MPA);
	return true;
}

bool specimen_check(const struct specimen *specimen, struct message *why)
{
	return check_name("id", specimen->id, true, why) &&
	       check_name("set", specimen->set, false, why) &&
	       specimen_check_numbers(specimen, why);
}

double specimen_area_m2(const struct specimen *specimen)
{
	/* Whole micrometres, exact in a double up to the last step (1 m2 is 10^12 um2), so that the
	 * same dimensions give the same bits on every machine. The mean of two diameters stays a
	 * sum s: pi/4 (s/2)^2 = pi s^2 / 16. */
	double a = (double)specimen->width_um[0], b = (double)specimen->width_um[1];
	if (specimen->shape != SHAPE_CYLINDER)
		return a * b / 1e12;
	return M_PI * ((a + b) * (a + b)) / 16e12;
}

double specimen_ratio(const struct specimen *specimen)
{
	double a = (double)specimen->width_um[0], b = (double)specimen->width_um[1];
	double twice = specimen->shape == SHAPE_PRISM ? 2 * fmin(a, b) : a + b;
	return twice > 0 ? 2 * (double)specimen->length_um / twice : 0;
}
