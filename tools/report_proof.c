/* SPDX-License-Identifier: MIT
 *
 * How it was decided, and how a reader checks the report against the database: the last parts of
 * it, for those who look for them.
 */
#include "report_parts.h"

#include "audit_seal.h"

#include "draw/shown.h"
#include "judge/rate_unit.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

enum { SEAL_TEXT_SIZE = 2 * STORE_SEAL_SIZE + 1, NAME_SIZE = 48, NUMBERS_SIZE = 512 };

/* ---- the rule */

static void put_band(struct text *text, const struct report_content *content)
{
	const struct plan *plan = &content->runs[0].record.start.plan;
	const struct method *method = report_method(content);
	if (!method)
		return;
	text_put(text, "It was out of band where it was beyond a limit of ");
	shown_rate_limit(method, plan->band_low * plan->rate_unit_pa, text);
	text_put(text, " to ");
	shown_rate_limit(method, plan->band_high * plan->rate_unit_pa, text);
	text_format(text,
		" %s by more than %g times its standard error; beyond by less, or with readings "
		"missing, the verdict is undetermined.",
		shown_rate_unit(method)->text, plan->policy.sigmas);
}

void report_put_rule(struct sheet *sheet, const struct report_content *content)
{
	const struct plan *plan = &content->runs[0].record.start.plan;
	bool anticipated = plan->basis_anticipated && plan->anticipated_load_un > 0;
	char buffer[REPORT_LINE_SIZE];
	struct text text;
	text_init(&text, buffer, sizeof(buffer));
	if (plan->time_high_s > 0)
		text_format(&text, "The span must last %g to %g s.", plan->time_low_s,
			plan->time_high_s);
	else
		put_band(&text, content);
	sheet_heading(sheet, "Decision rule");
	sheet_small(sheet,
		"The stress rate is the slope of the least-squares line through the samples of a "
		"window of %.1f s (or a third of a shorter span), judged from %.0f %% of the %s "
		"load to %.0f %% of the maximum load, unrounded (ASTM E29, absolute method). %s "
		"Strengths are averaged unrounded and rounded once, an exact five to the even "
		"digit; unrounded means are compared with the specification's limits, without an "
		"allowance for uncertainty. No load was corrected by the errors that the press's "
		"verification found.",
		(double)plan->window_ns / (double)CLOCKS_NS_PER_S, plan->span_from * 100,
		anticipated ? "anticipated" : "maximum", plan->span_to * 100, buffer);
}

/* ---- seals and keys */

static void hex_text(const unsigned char *bytes, char *text)
{
	for (size_t i = 0; i < STORE_SEAL_SIZE; i++)
		snprintf(text + 2 * i, 3, "%02x", bytes[i]);
}

/* Each key once: a press has one, until it is changed. */
static void put_keys(struct sheet *sheet, const struct report_content *content)
{
	char key[SEAL_TEXT_SIZE], name[NAME_SIZE];
	for (size_t i = 0; i < content->count; i++) {
		const struct run_seal *seal = &content->runs[i].seal;
		bool seen = !seal->is_signed;
		for (size_t j = 0; j < i; j++)
			seen = seen || content->runs[j].seal.key == seal->key;
		if (seen)
			continue;
		hex_text(seal->public_key, key);
		snprintf(name, sizeof(name), "public key %" PRId64, seal->key);
		sheet_code(sheet, name, key);
	}
}

static const struct report_run *put_seals(struct sheet *sheet, const struct report_content *content)
{
	const struct report_run *last = NULL;
	char seal[SEAL_TEXT_SIZE], name[NAME_SIZE];
	for (size_t i = 0; i < content->count; i++) {
		if (!content->runs[i].record.row.closed)
			continue;
		last = &content->runs[i];
		hex_text(last->seal.hash, seal);
		snprintf(name, sizeof(name), "seal of run %" PRId64, last->record.row.run);
		sheet_code(sheet, name, seal);
	}
	return last;
}

static void put_how(struct sheet *sheet, const struct report_content *content)
{
	char numbers[NUMBERS_SIZE];
	struct text text;
	text_init(&text, numbers, sizeof(numbers));
	for (size_t i = 0; i < content->count; i++)
		text_format(&text, " %" PRId64, content->runs[i].record.row.run);
	sheet_small(sheet,
		"ramplog audit%s derives the runs again from their readings and recomputes their "
		"seals; ramplog audit --seal, with the text of the QR code, says whether seal and "
		"key below are those of the database. Seals are signed with the press's key "
		"(Ed25519).%s",
		numbers,
		content->words->number ? " ramplog report --check FILE says whether a file is this "
					 "report as it was issued, and whether another replaces it."
				       : "");
}

/* The last run's seal covers those before it: the seals are a chain. */
void report_put_proof(struct sheet *sheet, const struct report_content *content)
{
	char code[REPORT_LINE_SIZE];
	sheet_heading(sheet, "To check this report against the database");
	put_how(sheet, content);
	const struct report_run *last = put_seals(sheet, content);
	if (!last)
		return;
	put_keys(sheet, content);
	audit_seal_text(last->record.row.run, &last->seal, code, sizeof(code));
	sheet_qr(sheet, code);
}
