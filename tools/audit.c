/* SPDX-License-Identifier: MIT
 *
 * `ramplog audit`: derives runs again from their raw readings, compares every field with what is
 * stored, recomputes seals and signatures, looks at the file. Exits with 0 only if all agree.
 *
 * A thread for every processor, each with a connection of its own, takes the next few runs until
 * none is left, while the pages are still looked at: what is found before those are known to be
 * whole waits for that, and is worth nothing if they are not. What they share is under one mutex;
 * SIGINT only sets a flag.
 */
#include "store/audit.h"
#include "audit_seal.h"
#include "commands.h"
#include "options.h"
#include "result/methods.h"
#include "stored.h"

#include <inttypes.h>
#include <pthread.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum {
	RUNS_MAX = 256, /* as many as a person types; a shell's glob knows no runs */
	THREADS_MAX = 64,
	BLOCK_RUNS = 8,  /* that a thread takes at most at a time: enough to be worth the mutex */
	BLOCKS_EACH = 8, /* for each thread at least, so that none is left with the last ones */
	BLOCK_SEALS = 256,
	BAR_WIDTH = 30,
};

struct audit {
	const char *command;
	const char *database;
	bool json;
	bool progress; /* stderr is a terminal */
	bool anchor;
	const char *since;
	struct audit_anchor since_anchor;
	bool has_seal;
	struct audit_seal seal; /* as printed on a report */
	int64_t runs[RUNS_MAX];
	size_t run_count; /* 0: all */
	struct audit_extent extent;

	pthread_mutex_t mutex;
	pthread_cond_t pages_seen;
	/* under the mutex */
	enum { PAGES_UNKNOWN, PAGES_WHOLE, PAGES_TORN } pages;
	int64_t next_run, next_seal;
	int64_t block_runs; /* set before the threads begin */
	bool file_taken;
	size_t done;
	int percent;      /* as shown; -1: not yet */
	json_t *findings; /* with --json */
	struct audit_summary summary;
	enum store_status status;
	struct message why;
};

static volatile sig_atomic_t interrupted;

static void on_interrupt(int number)
{
	(void)number;
	interrupted = 1;
}

enum { KEY_SINCE = 256, KEY_ANCHOR, KEY_SEAL };

static const struct argp_option options[] = {
	{"anchor", KEY_ANCHOR, NULL, 0,
		"write out the newest seal, to be kept where this computer cannot reach it", 0},
	{"since", KEY_SINCE, "ANCHOR", 0,
		"check also that the chain still holds this seal, written out earlier", 0},
	{"seal", KEY_SEAL, "TEXT", 0,
		"the text of a report's QR code: is it of this database? The run is audited too",
		0},
	{0},
};

static error_t parse(int key, char *typed, struct argp_state *state)
{
	struct audit *audit = state->input;
	switch (key) {
	case ARGP_KEY_INIT:
		state->child_inputs[0] = &audit->database;
		state->child_inputs[1] = &audit->json;
		return 0;
	case KEY_ANCHOR:
		audit->anchor = true;
		return 0;
	case KEY_SINCE:
		audit->since = typed;
		if (!audit_anchor_parse(typed, &audit->since_anchor))
			argp_error(state,
				"--since '%s' is no anchor: a number, a colon and 64 hexadecimal "
				"digits, as --anchor writes it",
				typed);
		return 0;
	case KEY_SEAL:
		audit->has_seal = true;
		if (!audit_seal_parse(typed, &audit->seal))
			argp_error(state,
				"--seal '%s' is not as on a report: \"ramplog run N seal HEX key "
				"HEX\"",
				typed);
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

/* With the mutex held. */
static void put_or_keep(struct audit *audit, const struct audit_finding *finding)
{
	if (!audit->json) {
		clear_progress(audit);
		put_finding(finding);
	} else {
		json_array_append_new(audit->findings,
			json_pack("{s:s, s:o, s:s, s:s, s:s, s:s}", "kind",
				kind_text(finding->kind), "run",
				finding->run > 0 ? json_integer(finding->run) : json_null(),
				"place", finding->place, "field", finding->field, "stored",
				finding->stored, "derived", finding->derived));
	}
	audit->percent = -1;
}

static void take_page_finding(void *context, const struct audit_finding *finding)
{
	struct audit *audit = context;
	pthread_mutex_lock(&audit->mutex);
	put_or_keep(audit, finding);
	pthread_mutex_unlock(&audit->mutex);
}

static void take_finding(void *context, const struct audit_finding *finding)
{
	struct audit *audit = context;
	pthread_mutex_lock(&audit->mutex);
	while (audit->pages == PAGES_UNKNOWN)
		pthread_cond_wait(&audit->pages_seen, &audit->mutex);
	if (audit->pages == PAGES_WHOLE)
		put_or_keep(audit, finding);
	pthread_mutex_unlock(&audit->mutex);
}

static bool go_on(void *context, size_t done, size_t total)
{
	struct audit *audit = context;
	(void)done;
	(void)total;
	pthread_mutex_lock(&audit->mutex);
	bool torn = audit->pages == PAGES_TORN;
	pthread_mutex_unlock(&audit->mutex);
	return !interrupted && !torn;
}

/* With the mutex held. Drawn when it changes, since a terminal is slower than an audit. */
static void show_progress(struct audit *audit)
{
	char bar[BAR_WIDTH + 1];
	size_t total = (size_t)audit->extent.newest_run;
	int percent = total ? (int)(audit->done * 100 / total) : 100;
	if (!audit->progress || percent == audit->percent)
		return;
	audit->percent = percent;
	for (int i = 0; i < BAR_WIDTH; i++)
		bar[i] = i * 100 < percent * BAR_WIDTH ? '#' : '.';
	bar[BAR_WIDTH] = '\0';
	fprintf(stderr, "\r[%s] %3d %%, %zu of %zu runs\033[K", bar, percent, audit->done, total);
	fflush(stderr);
}

static void add_summary(struct audit *audit, const struct audit_summary *part)
{
	struct audit_summary *whole = &audit->summary;
	whole->run_count += part->run_count;
	whole->sample_count += part->sample_count;
	whole->entry_count += part->entry_count;
	whole->difference_count += part->difference_count;
	whole->unclosed_count += part->unclosed_count;
	whole->stopped = whole->stopped || part->stopped || interrupted;
}

/* ---- the work, in portions */

enum portion { PORTION_NONE, PORTION_FILE, PORTION_RUNS, PORTION_SEALS };

/* The file first: one thread is busy with it for long, while the others take the runs. */
static enum portion take_portion(struct audit *audit, int64_t *first, int64_t *last)
{
	enum portion portion = PORTION_NONE;
	pthread_mutex_lock(&audit->mutex);
	if (audit->status != STORE_OK || audit->pages == PAGES_TORN || interrupted) {
		portion = PORTION_NONE;
	} else if (!audit->file_taken) {
		audit->file_taken = true;
		portion = PORTION_FILE;
	} else if (audit->next_run == 1 || audit->next_run <= audit->extent.newest_run) {
		*first = audit->next_run;
		*last = *first + audit->block_runs - 1;
		audit->next_run = *last + 1;
		/* What carries a number behind the newest run was left behind by one. */
		if (*last >= audit->extent.newest_run)
			*last = INT64_MAX - 1;
		portion = PORTION_RUNS;
	} else if (audit->next_seal <= audit->extent.newest_seal) {
		*first = audit->next_seal;
		*last = *first + BLOCK_SEALS - 1;
		audit->next_seal = *last + 1;
		if (*last > audit->extent.newest_seal)
			*last = audit->extent.newest_seal;
		portion = PORTION_SEALS;
	}
	pthread_mutex_unlock(&audit->mutex);
	return portion;
}

static enum store_status do_portion(struct audit *audit, struct store *store, enum portion portion,
	int64_t first, int64_t last, struct audit_summary *summary)
{
	struct audit_hooks hooks = {take_finding, go_on, audit};
	switch (portion) {
	case PORTION_FILE:
		return audit_file(store, &audit->extent, &hooks, summary);
	case PORTION_RUNS:
		return audit_some_runs(store, &audit->extent, first, last, &hooks, summary);
	case PORTION_SEALS:
		return audit_some_seals(store, &audit->extent, first, last, &hooks, summary);
	case PORTION_NONE:
		break;
	}
	return STORE_OK;
}

static void *work(void *context)
{
	struct audit *audit = context;
	struct store *store;
	struct message why = {""};
	int64_t first = 0, last = 0;
	enum portion portion;
	enum store_status status = store_open(&store, audit->database, STORE_READ, &why);
	while (status == STORE_OK &&
		(portion = take_portion(audit, &first, &last)) != PORTION_NONE) {
		struct audit_summary summary = {.run_count = 0};
		status = do_portion(audit, store, portion, first, last, &summary);
		if (status != STORE_OK)
			message_set(&why, "%s", store_error(store));
		pthread_mutex_lock(&audit->mutex);
		add_summary(audit, &summary);
		audit->done += summary.run_count + summary.unclosed_count;
		show_progress(audit);
		pthread_mutex_unlock(&audit->mutex);
	}
	pthread_mutex_lock(&audit->mutex);
	if (status != STORE_OK && audit->status == STORE_OK) {
		audit->status = status;
		audit->why = why;
	}
	pthread_mutex_unlock(&audit->mutex);
	store_close(store);
	return NULL;
}

/* Returns how many threads were started. */
static long work_side_by_side(struct audit *audit, pthread_t threads[THREADS_MAX])
{
	long count = sysconf(_SC_NPROCESSORS_ONLN);
	long started = 0;
	methods_count(); /* reads them while there is one thread */
	count = count < 1 ? 1 : count > THREADS_MAX ? THREADS_MAX : count;
	audit->block_runs = audit->extent.newest_run / (count * BLOCKS_EACH);
	audit->block_runs = audit->block_runs < 1            ? 1
			    : audit->block_runs > BLOCK_RUNS ? BLOCK_RUNS
							     : audit->block_runs;
	while (started < count && pthread_create(&threads[started], NULL, work, audit) == 0)
		started++;
	return started;
}

/* The runs that were named, one after the other. */
static void work_named(struct audit *audit, struct store *store)
{
	audit->extent.newest_run = (int64_t)audit->run_count;
	audit->status = audit_runs(
		store, audit->runs, audit->run_count, take_finding, go_on, audit, &audit->summary);
	if (audit->status != STORE_OK)
		message_set(&audit->why, "%s", store_error(store));
}

/* Lets those go on who wait for it. */
static enum store_status look_at_pages(
	struct audit *audit, struct store *store, struct audit_summary *summary)
{
	struct audit_hooks hooks = {take_page_finding, go_on, audit};
	enum store_status status = audit_pages(store, &hooks, summary);
	pthread_mutex_lock(&audit->mutex);
	audit->pages =
		status == STORE_OK && summary->difference_count == 0 ? PAGES_WHOLE : PAGES_TORN;
	pthread_cond_broadcast(&audit->pages_seen);
	pthread_mutex_unlock(&audit->mutex);
	return status;
}

static void work_all(struct audit *audit, struct store *store)
{
	pthread_t threads[THREADS_MAX];
	struct audit_summary pages = {.run_count = 0};
	enum store_status status = audit_begin(store, &audit->extent);
	struct message why;
	message_set(&why, "%s", store_error(store));
	bool all = status == STORE_OK && audit->run_count == 0;
	long started = all ? work_side_by_side(audit, threads) : 0;
	enum store_status pages_status = look_at_pages(audit, store, &pages);
	if (audit->pages == PAGES_WHOLE && status == STORE_OK && !all)
		work_named(audit, store);
	else if (audit->pages == PAGES_WHOLE && all && started == 0)
		work(audit);
	for (long i = 0; i < started; i++)
		pthread_join(threads[i], NULL);
	if (audit->pages == PAGES_TORN) {
		audit->status = pages_status;
		message_set(&audit->why, "%s", store_error(store));
		audit->summary = pages;
	} else if (status != STORE_OK) {
		audit->status = status;
		audit->why = why;
	}
	/* Before any of them had begun: nothing was looked at, and nobody has said so yet. */
	audit->summary.stopped = audit->summary.stopped || pages.stopped || interrupted;
}

/* ---- what is said at the end */

static int put_json_summary(const struct audit *audit, int code)
{
	const struct audit_summary *summary = &audit->summary;
	json_t *object = json_pack("{s:b, s:b, s:I, s:I, s:I, s:I, s:I, s:O}", "agrees",
		code == EXIT_DONE, "complete", !summary->stopped, "runs",
		(json_int_t)summary->run_count, "samples", (json_int_t)summary->sample_count,
		"entries", (json_int_t)summary->entry_count, "differences",
		(json_int_t)summary->difference_count, "unclosed",
		(json_int_t)summary->unclosed_count, "findings", audit->findings);
	int written = stored_put_json(audit->command, object);
	return written == EXIT_DONE ? code : written;
}

static int put_summary(const struct audit *audit)
{
	const struct audit_summary *summary = &audit->summary;
	bool agree = summary->difference_count == 0;
	int code = !agree ? EXIT_NO : summary->stopped ? EXIT_CANNOT : EXIT_DONE;
	if (audit->json)
		return put_json_summary(audit, code);
	if (summary->unclosed_count)
		printf("not closed: %zu\n", summary->unclosed_count);
	if (summary->stopped)
		printf("interrupted after %zu of %" PRId64 " runs: %s so far\n", summary->run_count,
			audit->extent.newest_run, agree ? "no difference" : "differences");
	if (agree && !summary->stopped)
		printf("all runs re-derived, all seals intact: %zu run%s, %zu samples\n",
			summary->run_count, summary->run_count == 1 ? "" : "s",
			summary->sample_count);
	if (!agree)
		printf("%zu difference%s in %zu run%s, %zu samples\n", summary->difference_count,
			summary->difference_count == 1 ? "" : "s", summary->run_count,
			summary->run_count == 1 ? "" : "s", summary->sample_count);
	if (audit->since && agree && !summary->stopped)
		printf("nothing up to seal %" PRId64 " was changed since it was written out\n",
			audit->since_anchor.seal);
	return code;
}

static int put_anchor(const struct audit *audit, struct store *store)
{
	char text[AUDIT_ANCHOR_SIZE];
	struct audit_anchor anchor;
	int64_t run_count = 0;
	enum store_status status = audit_anchor_newest(store, &anchor, &run_count);
	if (status == STORE_NONE) {
		fprintf(stderr, "%s: nothing is sealed yet\n", audit->command);
		return EXIT_NO;
	}
	if (status != STORE_OK)
		return stored_failed(audit->command, store, status);
	audit_anchor_text(&anchor, text);
	printf("seal %" PRId64 ", %" PRId64 " run%s\n%s\n", anchor.seal, run_count,
		run_count == 1 ? "" : "s", text);
	return EXIT_DONE;
}

static int audit_store(struct audit *audit, struct store *store)
{
	struct audit_hooks hooks = {take_finding, go_on, audit};
	struct sigaction action = {.sa_handler = on_interrupt};
	audit->progress = isatty(STDERR_FILENO);
	audit->findings = json_array();
	sigaction(SIGINT, &action, NULL);
	work_all(audit, store);
	if (audit->pages == PAGES_WHOLE && audit->status == STORE_OK && audit->since)
		audit->status =
			audit_anchor_check(store, &audit->since_anchor, &hooks, &audit->summary);
	clear_progress(audit);
	int code = EXIT_CANNOT;
	if (audit->status == STORE_OK)
		code = put_summary(audit);
	else
		fprintf(stderr, "%s: %s: %s\n", audit->command, store_status_text(audit->status),
			audit->why.text);
	json_decref(audit->findings);
	return code;
}

int audit_main(int argc, char **argv)
{
	const struct argp_child children[] = {
		{&options_database, 0, NULL, 0}, {&options_json, 0, NULL, 0}, {0}};
	const struct argp argp = {options, parse, "[RUN...]",
		"Derives the named runs (else all) again from their raw readings, compares them "
		"with "
		"what is stored, and checks the seals. Exits with 0 only if all agree, with 1 when "
		"anything differs.",
		children, NULL, NULL};
	struct audit audit = {.command = argv[0],
		.next_run = 1,
		.next_seal = 1,
		.percent = -1,
		.mutex = PTHREAD_MUTEX_INITIALIZER,
		.pages_seen = PTHREAD_COND_INITIALIZER};
	struct store *store;
	argp_parse(&argp, argc, argv, 0, NULL, &audit);
	int code = stored_open(audit.command, audit.database, &store);
	if (code != EXIT_DONE)
		return code;
	if (audit.has_seal)
		code = audit_seal_check(audit.command, store, &audit.seal);
	if (code == EXIT_DONE && audit.has_seal && audit.run_count < RUNS_MAX)
		audit.runs[audit.run_count++] = audit.seal.run;
	if (code == EXIT_DONE)
		code = audit.anchor ? put_anchor(&audit, store) : audit_store(&audit, store);
	store_close(store);
	return code;
}
