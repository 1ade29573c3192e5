/* SPDX-License-Identifier: MIT
 *
 * In the order in which it was entered: who, which, measured, prepared; then what broke. What was
 * not stated has no line.
 */
#include "show_specimen.h"

#include "fields.h"
#include "sketches.h"
#include "words.h"

#include "base/decimal.h"
#include "base/units.h"
#include "draw/shown.h"
#include "result/age.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

enum { LINE_SIZE = 200 };

void show_put_lengths(const struct specimen *specimen, bool inch_pound)
{
	/* In thousandths of the unit: whole micrometres, or micrometres / 25.4 to the nearest. */
	int64_t lengths[3] = {specimen->width_um[0], specimen->width_um[1], specimen->length_um};
	char texts[3][24];
	for (size_t i = 0; i < 3; i++) {
		int64_t thousandths = inch_pound ? (lengths[i] * 10 + 127) / 254 : lengths[i];
		decimal_text(thousandths, 3, texts[i]);
	}
	const char *unit = inch_pound ? "in" : "mm";
	static const char *const names[SHAPE_COUNT][2] = {
		[SHAPE_CYLINDER] = {"diameters", "length"},
		[SHAPE_CUBE] = {"faces", "height"},
		[SHAPE_PRISM] = {"faces", "height"},
		[SHAPE_BEAM] = {"width and depth", "span"},
	};
	fields_put(names[specimen->shape][0], "%s and %s %s", texts[0], texts[1], unit);
	if (specimen->length_um)
		fields_put(names[specimen->shape][1], "%s %s", texts[2], unit);
}

/* ---- before the test */

static enum store_status put_who(const struct specimen *specimen, struct store *store)
{
	struct recorded recorded;
	char at[CLOCKS_UTC_TEXT_SIZE];
	enum store_status status = store_specimen_recorded(store, specimen->id, &recorded);
	if (status != STORE_OK)
		return status == STORE_NONE ? STORE_OK : status;
	words_time(recorded.at, at);
	fields_put(
		"registered", "%s by %s (uid %" PRIu32 ")", at, recorded.by.name, recorded.by.uid);
	return STORE_OK;
}

static void put_measures(
	const char *name, const int64_t *values_um, size_t count, const struct detail *detail)
{
	char buffer[LINE_SIZE], number[24];
	struct text text;
	text_init(&text, buffer, sizeof(buffer));
	for (size_t i = 0; i < count; i++) {
		decimal_text(values_um[i], 3, number);
		text_format(&text, "%s%s", i ? ", " : "", number);
	}
	if (count > 0)
		fields_put(name, "%s mm%s", buffer,
			detail->reduced ? "; the mean of its mould lot counts" : "");
}

static void put_age(const struct run_start *start, const struct detail *detail)
{
	const struct method *method = start->judged_by;
	const struct specimen *specimen = &start->specimen;
	char age[AGE_TEXT_SIZE], intended[AGE_TEXT_SIZE], tolerance[AGE_TEXT_SIZE];
	if (!method || !specimen->cast.ns)
		return;
	struct age at = age_of(method, specimen->cast, start->started, detail->intended_age_ns);
	age_text(at.ns, age);
	age_text(at.intended_ns, intended);
	age_text(at.tolerance_ns, tolerance);
	if (!at.intended_ns)
		fields_put("age", "%s", age);
	else
		fields_put("age", "%s, intended %s%s%s%s", age, intended,
			at.tolerance_ns ? " \302\261 " : "", at.tolerance_ns ? tolerance : "",
			at.outside ? ": OUTSIDE" : "");
}

static void put_ends(const struct detail *detail)
{
	char buffer[LINE_SIZE];
	struct text text;
	if (detail->ends == DETAIL_ENDS_UNSTATED)
		return;
	bool caps = detail->ends == DETAIL_ENDS_BONDED || detail->ends == DETAIL_ENDS_UNBONDED;
	text_init(&text, buffer, sizeof(buffer));
	text_format(&text, "%s%s", detail_ends_text(detail->ends), caps ? " caps" : "");
	if (detail->pad[0])
		text_format(&text, ", pads %s", detail->pad);
	if (detail->pad_hardness)
		text_format(&text, ", Shore A %d", detail->pad_hardness);
	fields_put("ends", "%s", buffer);
}

static void put_detail(const struct run_start *start, const struct detail *detail)
{
	const struct method *method = start->judged_by;
	char density[LINE_SIZE] = "";
	double kg_m3 = detail_density_kg_m3(&start->specimen, detail);
	put_measures("widths measured", detail->widths_um, detail->width_count, detail);
	put_measures("lengths measured", detail->lengths_um, detail->length_count, detail);
	if (detail->lot[0])
		fields_put("mould lot", "%s", detail->lot);
	if (detail->mass_mg > 0)
		fields_put("mass", "%.10g kg", (double)detail->mass_mg / 1e6);
	if (method && kg_m3 > 0)
		detail_density_text(method, kg_m3, density, sizeof(density));
	if (density[0])
		fields_put("density", "%s", density);
	put_ends(detail);
	if (detail->out_of_square_udeg >= 0)
		fields_put("out of square by", "%.10g degrees",
			(double)detail->out_of_square_udeg / 1e6);
	if (detail->out_of_plane_um >= 0)
		fields_put("out of plane by", "%.10g mm", (double)detail->out_of_plane_um / 1e3);
	if (detail->moist != DETAIL_MOIST_UNSTATED)
		fields_put("kept moist", "%s", detail_moist_text(detail->moist));
}

static void put_flags(const struct run_start *start, const struct detail *detail)
{
	struct detail_flags flags = {0};
	struct message why;
	if (!start->judged_by)
		return;
	if (!detail_check(start->judged_by, &start->specimen, detail, 0, &flags, &why))
		fields_put("note", "%s", why.text);
	for (size_t i = 0; i < flags.count; i++)
		fields_put("note", "%s", flags.flags[i].text);
}

enum store_status show_put_specimen(
	const struct run_record *record, struct store *store, bool inch_pound)
{
	const struct specimen *specimen = &record->start.specimen;
	struct detail detail;
	char buffer[LINE_SIZE];
	struct text text;
	puts("specimen");
	if (!record->start.has_specimen) {
		puts("  none was seated: no stress, no strength, no rate");
		return STORE_OK;
	}
	fields_put("id", "%s", specimen->id);
	if (specimen->set[0])
		fields_put("set", "%s", specimen->set);
	enum store_status status = put_who(specimen, store);
	if (status == STORE_OK)
		status = store_detail_find(store, specimen->id, &detail);
	if (status != STORE_OK && status != STORE_NONE)
		return status;
	fields_put("shape", "%s", shape_text(specimen->shape));
	show_put_lengths(specimen, inch_pound);
	fields_put("area", "%.1f mm2", specimen_area_m2(specimen) * 1e6);
	if (specimen->cast.ns) {
		words_time(specimen->cast, buffer);
		fields_put("cast", "%s", buffer);
	}
	put_age(&record->start, &detail);
	if (specimen->anticipated_pa > 0) {
		text_init(&text, buffer, sizeof(buffer));
		shown_put(SHOWN_STRESS, inch_pound, specimen->anticipated_pa, &text);
		fields_put("anticipated", "%s", buffer);
	}
	put_detail(&record->start, &detail);
	put_flags(&record->start, &detail);
	return STORE_OK;
}

/* ---- after it */

static void put_sketch(const struct method *method, int type)
{
	const char *const *rows = sketches_of(method, type);
	for (size_t i = 0; rows && i < SKETCHES_ROWS; i++) {
		if (rows[i][0])
			printf("  %*s%s\n", FIELDS_NAME_WIDTH, "", rows[i]);
	}
}

static bool put_entry(void *context, const struct fracture_row *fracture)
{
	const struct run_record *record = context;
	const struct method *method = record->start.judged_by;
	const struct method_fracture *own = method ? method_fracture(method, fracture->type) : NULL;
	char at[CLOCKS_UTC_TEXT_SIZE];
	words_time(fracture->at, at);
	fields_put("type", "%d: %s", fracture->type,
		own ? own->words : words_fracture(fracture->type));
	put_sketch(method, fracture->type);
	if (fracture->crack_um)
		fields_put("crack from support", "%.10g mm",
			(double)fracture->crack_um / (double)UNITS_UM_PER_MM);
	if (fracture->note[0])
		fields_put("remarks", "%s", fracture->note);
	fields_put(
		"entered", "%s by %s (uid %" PRIu32 ")", at, fracture->by.name, fracture->by.uid);
	return true;
}

enum store_status show_put_fractures(const struct run_record *record, struct store *store)
{
	struct run_record *context = (struct run_record *)(uintptr_t)record;
	puts("fracture");
	if (record->fracture.type)
		return store_fractures_each(store, record->row.run, put_entry, context);
	printf("  not entered yet: the run is complete when it is (`ramplog fracture %" PRId64
	       " TYPE`)\n",
		record->row.run);
	return STORE_OK;
}
