/* SPDX-License-Identifier: MIT
 *
 * What the parts of a report ask of its runs.
 */
#include "report_content.h"

#include "draw/shown.h"
#include "result/age.h"

#include <stdio.h>
#include <stdlib.h>

const struct method *report_method(const struct report_content *content)
{
	return content->runs[0].replay.outcome.method;
}

bool report_inch_pound(const struct report_content *content)
{
	const struct method *method = report_method(content);
	return method ? method->inch_pound : shown_inch_pound(content->runs[0].record.start.method);
}

const char *report_specimen(const struct report_run *run)
{
	return run->record.start.has_specimen ? run->record.start.specimen.id : "no specimen";
}

bool report_fracture_is(const struct report_run *run, enum method_fracture_worth worth)
{
	const struct method *method = run->replay.outcome.method;
	const struct method_fracture *fracture =
		method ? method_fracture(method, run->record.fracture.type) : NULL;
	return fracture && fracture->worth == worth;
}

bool report_reportable(const struct report_run *run, struct message *why)
{
	const struct run_record *record = &run->record;
	int64_t maximum_un = record->row.closed ? record->outcome.judgement.maximum_un : 0;
	return standing_reportable(&record->start.standing, maximum_un, why);
}

bool report_confirmed(const struct report_content *content)
{
	bool confirmed = true;
	for (size_t i = 0; i < content->count; i++)
		confirmed = confirmed && content->runs[i].confirmed;
	return confirmed;
}

struct age report_age(const struct report_run *run)
{
	const struct run_start *start = &run->record.start;
	const struct method *method = run->replay.outcome.method;
	if (!start->has_specimen || !method)
		return (struct age){0};
	return age_of(method, start->specimen.cast, start->started, run->detail.intended_age_ns);
}

int64_t report_width_um(const struct specimen *specimen)
{
	return (specimen->width_um[0] + specimen->width_um[1]) / 2;
}

bool report_companions(const struct report_content *content, struct companions *companions)
{
	double *strengths = calloc(content->count, sizeof(*strengths));
	const struct method *method = report_method(content);
	int64_t width_um = 0;
	size_t count = 0;
	*companions = (struct companions){0};
	if (!strengths)
		return false;
	for (size_t i = 0; i < content->count; i++) {
		if (content->runs[i].without)
			continue;
		width_um += report_width_um(&content->runs[i].record.start.specimen);
		strengths[count++] = content->runs[i].record.outcome.strength_pa;
	}
	if (count > 0 && method)
		*companions = companions_of(
			method, width_um / (int64_t)count, content->words->field, strengths, count);
	free(strengths);
	return true;
}

void report_heading(struct sheet *sheet, const struct report_content *content, const char *words,
	const char *topic)
{
	const struct method *method = report_method(content);
	const char *clause =
		method && report_confirmed(content) ? method_clause(method, topic) : "";
	char heading[REPORT_LINE_SIZE];
	snprintf(heading, sizeof(heading), "%s%s%s%s", words, clause[0] ? " (clause " : "", clause,
		clause[0] ? ")" : "");
	sheet_heading(sheet, heading);
}
