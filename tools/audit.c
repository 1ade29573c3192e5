/* SPDX-License-Identifier: MIT
 *
 * `ramplog audit`: derives runs again from their raw readings, compares every field with what is
 * stored, and recomputes the chain of seals. Exits with 0 only if all agree.
 */
#include "store/audit.h"
#include "commands.h"
#include "options.h"
#include "stored.h"

#include <inttypes.h>
#include <stdlib.h>
#include <unistd.h>

enum { RUNS_MAX = 256 }; /* as many as a person types; a shell's glob knows no runs */

struct audit {
	const char *command;
	const char *database;
	bool json;
	bool progress; /* stderr is a terminal */
	int64_t runs[RUNS_MAX];
	size_t run_count; /* 0: all */
	json_t *findings; /* with --json */
};

static error_t parse(int key, char *typed, struct argp_state *state)
{
	struct audit *audit = state->input;
	switch (key) {
	case ARGP_KEY_INIT:
		state->child_inputs[0] = &audit->database;
		state->child_inputs[1] = &audit->json;
		return 0;
	case ARGP_KEY_ARG:
		if (audit->run_count == RUNS_MAX)
			argp_error(
				state, "at most %d runs can be named; name none for all", RUNS_MAX);
		audit->runs[audit->run_count++] = options_number(state, "a run", typed);
		return 0;
	default:
		return ARGP_ERR_UNKNOWN;
	}
}

static const char *kind_text(enum audit_kind kind)
{
	switch (kind) {
	case AUDIT_FIELD:
		return "field";
	case AUDIT_SEAL:
		return "seal";
	case AUDIT_MISSING:
		return "missing";
	case AUDIT_FILE:
		return "file";
	case AUDIT_UNCLOSED:
		return "unclosed";
	}
	return "";
}

static void clear_progress(const struct audit *audit)
{
	if (audit->progress)
		fputs("\r\033[K", stderr);
}

static void put_finding(const struct audit_finding *finding)
{
	printf("%s: ", finding->place);
	switch (finding->kind) {
	case AUDIT_FIELD:
		printf("%s is stored as %s, the readings give %s\n", finding->field,
			finding->stored, finding->derived);
		break;
	case AUDIT_SEAL:
		printf("the seal is broken: %s is stored as %s, the content gives %s\n",
			finding->field, finding->stored, finding->derived);
		break;
	case AUDIT_MISSING:
		printf("%s is %s; expected: %s\n", finding->field, finding->stored,
			finding->derived);
		break;
	case AUDIT_FILE:
		printf("%s: %s; expected: %s\n", finding->field, finding->stored, finding->derived);
		break;
	case AUDIT_UNCLOSED:
		puts("was never closed (no difference; it has no outcome to compare)");
		break;
	}
}

static void take_finding(void *context, const struct audit_finding *finding)
{
	struct audit *audit = context;
	if (!audit->json) {
		clear_progress(audit);
		put_finding(finding);
		return;
	}
	json_array_append_new(audit->findings,
		json_pack("{s:s, s:o, s:s, s:s, s:s, s:s}", "kind", kind_text(finding->kind), "run",
			finding->run > 0 ? json_integer(finding->run) : json_null(), "place",
			finding->place, "field", finding->field, "stored", finding->stored,
			"derived", finding->derived));
}

static bool show_progress(void *context, size_t done, size_t total)
{
	const struct audit *audit = context;
	if (audit->progress)
		fprintf(stderr, "\r%zu of %zu runs\033[K", done, total);
	return true;
}

static int put_summary(const struct audit *audit, const struct audit_summary *summary)
{
	bool agree = summary->difference_count == 0;
	int code = agree ? EXIT_DONE : EXIT_NO;
	if (audit->json) {
		json_t *object = json_pack("{s:b, s:I, s:I, s:I, s:I, s:O}", "agrees", agree,
			"runs", (json_int_t)summary->run_count, "samples",
			(json_int_t)summary->sample_count, "differences",
			(json_int_t)summary->difference_count, "unclosed",
			(json_int_t)summary->unclosed_count, "findings", audit->findings);
		int written = stored_put_json(audit->command, object);
		return written == EXIT_DONE ? code : written;
	}
	if (summary->unclosed_count)
		printf("not closed: %zu\n", summary->unclosed_count);
	if (agree)
		printf("all runs re-derived, all seals intact: %zu run%s, %zu samples\n",
			summary->run_count, summary->run_count == 1 ? "" : "s",
			summary->sample_count);
	else
		printf("%zu difference%s in %zu run%s, %zu samples\n", summary->difference_count,
			summary->difference_count == 1 ? "" : "s", summary->run_count,
			summary->run_count == 1 ? "" : "s", summary->sample_count);
	return code;
}

static int audit_store(struct audit *audit, struct store *store)
{
	struct audit_summary summary;
	audit->progress = isatty(STDERR_FILENO);
	audit->findings = json_array();
	enum store_status status = audit_runs(store, audit->run_count ? audit->runs : NULL,
		audit->run_count, take_finding, show_progress, audit, &summary);
	clear_progress(audit);
	int code = status == STORE_OK ? put_summary(audit, &summary)
				      : stored_failed(audit->command, store, status);
	json_decref(audit->findings);
	return code;
}

int audit_main(int argc, char **argv)
{
	const struct argp_child children[] = {
		{&options_database, 0, NULL, 0}, {&options_json, 0, NULL, 0}, {0}};
	const struct argp argp = {NULL, parse, "[RUN...]",
		"Derives the named runs (else all) again from their raw readings, compares them "
		"with "
		"what is stored, and checks the seals. Exits with 0 only if all agree, with 1 when "
		"anything differs.",
		children, NULL, NULL};
	struct audit audit = {.command = argv[0]};
	struct store *store;
	argp_parse(&argp, argc, argv, 0, NULL, &audit);
	int code = stored_open(audit.command, audit.database, &store);
	if (code != EXIT_DONE)
		return code;
	code = audit_store(&audit, store);
	store_close(store);
	return code;
}
