/* SPDX-License-Identifier: MIT
 *
 * The results: the one figure, each run in a row (and beneath it what was first recorded, where
 * that was corrected), the types of fracture in words.
 */
#include "report_parts.h"
#include "report_say.h"
#include "words.h"

#include "base/decimal.h"
#include "base/units.h"
#include "draw/shown.h"
#include "result/age.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

enum {
	CELL_SIZE = 48,
	COLUMNS_SIZE = 16,
	THOUSANDTHS = 3, /* decimals of a length at most */
	UM_USUAL = 10,   /* hundredths of a millimetre, where the method has no step */
};

/* ---- the figure */

static void put_precision(struct text *text, const struct report_content *content,
	const struct companions *companions)
{
	const char *made = content->words->field ? "under field conditions" : "in the laboratory";
	text_format(text, "; their range is %.1f %% of it", companions->range_percent);
	if (companions->limit_percent > 0)
		text_format(text, ", %s the %.1f %% that %zu of this size made %s seldom exceed",
			companions->beyond ? "BEYOND" : "within", companions->limit_percent,
			companions->strength.count, made);
	else
		text_put(text, "; the method has no limit for it");
}

static const struct report_run *counting_run(const struct report_content *content)
{
	for (size_t i = 0; i < content->count; i++) {
		if (!content->runs[i].without)
			return &content->runs[i];
	}
	return NULL;
}

static void put_figure(struct sheet *sheet, const struct report_content *content)
{
	const struct method *method = report_method(content);
	const struct report_run *only = counting_run(content);
	struct companions companions;
	char figure[OUTCOME_REPORTED_SIZE], buffer[REPORT_LINE_SIZE];
	struct text text;
	if (!report_companions(content, &companions)) {
		sheet->failed = true;
		return;
	}
	if (!method || !only)
		return;
	outcome_strength_text(method, companions.strength.mean, figure);
	if (companions.strength.count < 2) {
		sheet_figure(sheet, figure, "strength of %s, the only one of %zu that counts",
			report_specimen(only), content->count);
		return;
	}
	text_init(&text, buffer, sizeof(buffer));
	text_format(&text, "mean of %zu, from unrounded strengths", companions.strength.count);
	put_precision(&text, content, &companions);
	sheet_figure(sheet, figure, "%s", buffer);
}

/* ---- the table */

/* To the step to which the method has it measured (0: to the last digit of use), an exact half to
 * the even step; without decimals that say nothing. */
static void length_text(int64_t um, int64_t step_um, bool in_inch, char *text)
{
	if (um <= 0) {
		strcpy(text, "-");
		return;
	}
	int64_t step = step_um > 0 ? step_um : in_inch ? UNITS_UM_PER_INCH / 1000 : UM_USUAL;
	int64_t steps = um / step, rest = um % step;
	steps += 2 * rest > step || (2 * rest == step && steps % 2 == 1);
	/* thousandths of the unit, and as many decimals as a step has */
	int64_t per_unit = in_inch ? UNITS_UM_PER_INCH : UNITS_UM_PER_MM;
	int places = THOUSANDTHS;
	int64_t step_shown = (step * 1000 + per_unit / 2) / per_unit;
	int64_t shown = (steps * step * 1000 + per_unit / 2) / per_unit;
	for (; places > 0 && step_shown % 10 == 0; places--) {
		step_shown /= 10;
		shown /= 10;
	}
	decimal_text(shown, places, text);
}

/* Which columns this report has. */
struct columns {
	bool in_inch, faces, beam, density, factor;
};

static struct columns columns_of(const struct report_content *content)
{
	struct columns columns = {.in_inch = report_inch_pound(content)};
	for (size_t i = 0; i < content->count; i++) {
		const struct report_run *run = &content->runs[i];
		columns.faces = columns.faces ||
				(run->record.start.has_specimen &&
					run->record.start.specimen.shape != SHAPE_CYLINDER);
		columns.beam =
			columns.beam || (run->record.start.has_specimen &&
						run->record.start.specimen.shape == SHAPE_BEAM);
		columns.density = columns.density || run->detail.mass_mg > 0;
		columns.factor = columns.factor ||
				 (run->record.row.closed && run->record.outcome.correction != 1);
	}
	return columns;
}

static void put_head(
	struct sheet *sheet, const struct report_content *content, const struct columns *columns)
{
	const struct method *method = report_method(content);
	const char *length = columns->in_inch ? "in" : "mm";
	char letters[COLUMNS_SIZE];
	snprintf(letters, sizeof(letters), "lrrrrr%sr%srrl", columns->density ? "r" : "",
		columns->factor ? "r" : "");
	sheet_table(sheet, letters);
	sheet_cell(sheet, "specimen");
	sheet_cell(sheet, "run");
	sheet_cell(sheet, "age");
	sheet_cell(sheet, columns->faces ? "faces, %s" : "diameter, %s", length);
	sheet_cell(sheet, columns->beam ? "span, %s" : "length, %s", length);
	sheet_cell(sheet, "area, %s\302\262", length);
	if (columns->density)
		sheet_cell(
			sheet, "density, %s", columns->in_inch ? "lb/ft\302\263" : "kg/m\302\263");
	sheet_cell(sheet, "maximum, %s", shown_unit(SHOWN_LOAD, columns->in_inch)->text);
	if (columns->factor)
		sheet_cell(sheet, "factor");
	sheet_cell(sheet, "strength, %s", method ? method->report_unit : "");
	sheet_cell(sheet, "fracture");
	sheet_cell(sheet, "rate");
}

static void put_specimen_cells(struct sheet *sheet, const struct specimen *specimen,
	const struct detail *detail, const struct method *method, const struct columns *columns)
{
	char widths[2][24], length[24], density[CELL_SIZE] = "-";
	if (!specimen) {
		for (size_t i = 0; i < (columns->density ? 4U : 3U); i++)
			sheet_cell(sheet, "-");
		return;
	}
	int64_t step_um = method ? method->width_to_um : 0;
	length_text(specimen->width_um[0], step_um, columns->in_inch, widths[0]);
	length_text(specimen->width_um[1], step_um, columns->in_inch, widths[1]);
	if (specimen->shape != SHAPE_CYLINDER) {
		sheet_cell(sheet, "%s \303\227 %s", widths[0], widths[1]);
	} else {
		length_text(report_width_um(specimen), step_um, columns->in_inch, widths[0]);
		sheet_cell(sheet, "%s", widths[0]);
	}
	length_text(
		specimen->length_um, method ? method->length_to_um : 0, columns->in_inch, length);
	sheet_cell(sheet, "%s", length);
	double unit = columns->in_inch ? 0.0254 * 0.0254 : 1e-6;
	sheet_cell(sheet, "%.*f", columns->in_inch ? 2 : 0, specimen_area_m2(specimen) / unit);
	if (!columns->density)
		return;
	double kg_m3 = detail_density_kg_m3(specimen, detail);
	if (kg_m3 > 0 && method)
		detail_density_text(method, kg_m3, density, sizeof(density));
	density[strcspn(density, " ")] = '\0';
	sheet_cell(sheet, "%s", density[0] ? density : "-");
}

static void put_outcome_cells(struct sheet *sheet, const struct outcome *outcome, bool closed,
	const struct columns *columns)
{
	bool strong = closed && outcome->strength_reported[0];
	char buffer[CELL_SIZE];
	struct text text;
	text_init(&text, buffer, sizeof(buffer));
	if (closed)
		shown_number(SHOWN_LOAD, columns->in_inch,
			(double)outcome->judgement.maximum_un / (double)UNITS_UN_PER_N, &text);
	sheet_cell(sheet, "%s", closed ? buffer : "not closed");
	if (columns->factor && strong)
		sheet_cell(sheet, "%.3f", outcome->correction);
	else if (columns->factor)
		sheet_cell(sheet, "-");
	snprintf(buffer, sizeof(buffer), "%s", strong ? outcome->strength_reported : "-");
	buffer[strcspn(buffer, " ")] = '\0';
	sheet_cell(sheet, "%s", buffer);
}

static void put_age_cell(struct sheet *sheet, const struct report_run *run)
{
	struct age age = report_age(run);
	char text[AGE_TEXT_SIZE];
	if (age.ns == 0) {
		sheet_cell(sheet, "-");
		return;
	}
	age_text(age.ns, text);
	sheet_cell(sheet, "%s", text);
}

static void put_row(
	struct sheet *sheet, const struct report_run *run, const struct columns *columns)
{
	const struct run_record *record = &run->record;
	const struct run_start *start = &record->start;
	sheet_cell(sheet, "%s%s", report_specimen(run), run->without ? " *" : "");
	sheet_cell(sheet, "%" PRId64, record->row.run);
	put_age_cell(sheet, run);
	put_specimen_cells(sheet, start->has_specimen ? &start->specimen : NULL, &run->detail,
		run->replay.outcome.method, columns);
	put_outcome_cells(sheet, &record->outcome, record->row.closed, columns);
	if (record->fracture.type)
		sheet_cell(sheet, "%d", record->fracture.type);
	else
		sheet_cell(sheet, "-");
	sheet_cell(sheet, "%s",
		record->row.closed ? words_verdict(record->outcome.judgement.rate.verdict) : "-");
}

/* Beside it what was corrected, as it was first recorded: it stays on record. */
static void put_first_row(
	struct sheet *sheet, const struct report_run *run, const struct columns *columns)
{
	const struct specimen *specimen = run->had_specimen ? &run->first_specimen : NULL;
	const struct fracture_row *fracture = &run->first_fracture;
	bool other = run->correction.number != 0;
	if (!other && !fracture->type)
		return;
	const struct specimen *now =
		run->record.start.has_specimen ? &run->record.start.specimen : NULL;
	const char *id = specimen && now && strcmp(specimen->id, now->id) != 0 ? specimen->id : "";
	sheet_cell(sheet, "  before: %s", specimen || !other ? id : "no specimen");
	sheet_cell(sheet, " ");
	sheet_cell(sheet, " ");
	put_specimen_cells(sheet, specimen, &run->detail, run->replay.outcome.method, columns);
	put_outcome_cells(sheet, &run->first_outcome, true, columns);
	if (fracture->type)
		sheet_cell(sheet, "%d", fracture->type);
	else
		sheet_cell(sheet, " ");
	sheet_cell(sheet, "%s", words_verdict(run->first_outcome.judgement.rate.verdict));
}

/* ---- the types of fracture in words */

static void put_fractures(struct sheet *sheet, const struct report_content *content)
{
	struct report_says says = {.sentences = NULL};
	for (size_t i = 0; i < content->count; i++) {
		const struct report_run *run = &content->runs[i];
		const struct fracture_row *row = &run->record.fracture;
		const struct method *method = run->replay.outcome.method;
		if (!row->type)
			continue;
		const struct method_fracture *fracture =
			method ? method_fracture(method, row->type) : NULL;
		report_say(&says, run, false, "fracture type %d, %s%s%s.", row->type,
			fracture ? fracture->words : words_fracture(row->type),
			row->note[0] ? "; " : "", row->note);
	}
	report_say_put(&says, sheet, content->count);
}

void report_put_results(struct sheet *sheet, const struct report_content *content)
{
	struct columns columns = columns_of(content);
	bool all = true;
	report_heading(sheet, content, "Results", "report");
	put_figure(sheet, content);
	put_head(sheet, content, &columns);
	for (size_t i = 0; i < content->count; i++) {
		put_row(sheet, &content->runs[i], &columns);
		put_first_row(sheet, &content->runs[i], &columns);
		all = all && !content->runs[i].without;
	}
	if (!all)
		sheet_small(sheet, "* does not count for the mean; why stands below.");
	put_fractures(sheet, content);
}
