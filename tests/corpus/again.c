/* SPDX-License-Identifier: MIT
 *
 * Live equals offline: the same run judged again from random chunks, and from a database through
 * the very functions by which an audit derives it again.
 */
#include "machine.h"

#include "store/replay.h"

#include <assert.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { CHUNK_MAX = 300, BATCH_MAX = 500, PATH_SIZE = 128 };

static const char *const files[] = {
	"runs.db", "runs.db-wal", "runs.db-shm", "runs.db-lock", "runs.db.key"};

static void path_of(const struct machine *machine, const char *file, char path[PATH_SIZE])
{
	snprintf(path, PATH_SIZE, "%s/%s", machine->folder, file);
}

/* A database of one run, since a corpus is large. */
static bool open_store(struct machine *machine, struct message *why)
{
	char path[PATH_SIZE];
	snprintf(machine->folder, sizeof machine->folder, "/tmp/corpus-XXXXXX");
	if (mkdtemp(machine->folder) == NULL)
		return message_set(why, "no folder can be made in /tmp");
	path_of(machine, files[0], path);
	struct actor actor = {.uid = 0};
	bool changed = false;
	return store_open(&machine->store, path, STORE_WRITE, why) == STORE_OK &&
	       (store_key_take(machine->store, &actor, (struct utc_time){1}, &changed) ==
			       STORE_OK ||
		       message_set(why, "%s", store_error(machine->store)));
}

static void close_store(struct machine *machine)
{
	char path[PATH_SIZE];
	store_close(machine->store);
	machine->store = NULL;
	for (size_t i = 0; i < sizeof files / sizeof files[0]; i++) {
		path_of(machine, files[i], path);
		unlink(path);
	}
	rmdir(machine->folder);
}

void machine_finish(struct machine *machine)
{
	judge_destroy(machine->judge);
	free(machine->record.samples);
}

/* In chunks of any size; between two of them whatever a daemon may ask is asked. */
static void judge_in_chunks(struct machine *machine, struct judgement *judgement)
{
	const struct record *record = &machine->record;
	judge_start(machine->judge, &machine->scene.plan);
	bool over = false;
	for (size_t i = 0; i < record->count && !over;) {
		size_t end = i + 1 + (size_t)random_pick(&machine->random, CHUNK_MAX);
		for (; i < end && i < record->count && !over; i++)
			over = judge_feed(machine->judge, &record->samples[i]);
		const struct event *events;
		struct live live;
		if (random_pick(&machine->random, 4) != 0)
			continue;
		judge_live(machine->judge, &live);
		judge_events(machine->judge, &events);
		if (random_pick(&machine->random, 8) == 0)
			judge_finish(machine->judge, judgement);
	}
	judge_finish(machine->judge, judgement);
}

static void begin(const struct machine *machine, struct run_start *start)
{
	const struct scene *scene = &machine->scene;
	*start = (struct run_start){
		.press = "corpus",
		.boot_id = "0c9a7f5e-1111-4a4a-9b9b-000000000001",
		.program = "corpus",
		.has_specimen = true,
		.specimen = scene->specimen,
		.plan = scene->plan,
		.judged_by = scene->method,
		.cell_count = 1,
		.started = {CLOCKS_NS_PER_S},
		.cells = {{.name = "cell",
			.device = "/dev/null",
			.decoder = "plain",
			.scale = {UNIT_NEWTON, {1, 0}, 0}}},
	};
	snprintf(start->method, sizeof start->method, "%s", scene->method->name);
	snprintf(start->specimen.method, sizeof start->specimen.method, "%s", scene->method->name);
}

static struct reading reading_of(const struct sample *sample)
{
	bool whole = sample->load_un % UNITS_UN_PER_N == 0;
	return (struct reading){
		.time = sample->time,
		.value = {whole ? sample->load_un / UNITS_UN_PER_N : sample->load_un,
			whole ? 0 : -6},
		.unit = UNIT_NEWTON,
		.status = (sample->flags & SAMPLE_OVER_RANGE) != 0 ? READING_OVER : 0,
	};
}

static enum store_status write_readings(struct machine *machine, int64_t run)
{
	const struct record *record = &machine->record;
	struct reading batch[BATCH_MAX];
	enum store_status status = STORE_OK;
	for (size_t i = 0; i < record->count && status == STORE_OK;) {
		size_t most = 1 + (size_t)random_pick(&machine->random, BATCH_MAX), count = 0;
		while (count < most && i < record->count)
			batch[count++] = reading_of(&record->samples[i++]);
		status = store_readings_add(machine->store, run, 0, batch, count);
	}
	return status;
}

/* Stores the run with the outcome that is known, and gives its number. */
static enum store_status write_run(
	struct machine *machine, const struct outcome *outcome, int64_t *run)
{
	struct store *store = machine->store;
	struct actor actor = {.name = "corpus"};
	struct utc_time now = {CLOCKS_NS_PER_S};
	struct run_start start;
	begin(machine, &start);
	enum store_status status = store_begin(store);
	if (status == STORE_OK)
		status = store_specimen_add(store, &start.specimen, &actor, now);
	if (status == STORE_OK)
		status = store_seat(store, start.press, start.specimen.id, &actor, now);
	if (status == STORE_OK)
		status = store_run_open(store, &start, run);
	if (status == STORE_OK)
		status = write_readings(machine, *run);
	if (status == STORE_OK)
		status = store_run_close(store, *run, outcome, now);
	return status == STORE_OK ? store_commit(store) : status;
}

static bool same(
	const struct judgement *a, const struct judgement *b, const char *how, struct message *why)
{
	if (memcmp(a, b, sizeof *a) == 0)
		return true;
	return message_set(why, "%s: end %s and %s, %s and %s, %zu and %zu events", how,
		end_text(a->end), end_text(b->end), verdict_text(a->rate.verdict),
		verdict_text(b->rate.verdict), a->event_total, b->event_total);
}

/* The stored run, loaded and derived again. */
static bool derive_again(struct machine *machine, struct message *why)
{
	static struct run_record stored;
	static struct outcome outcome;
	struct replay replay;
	int64_t run;
	outcome = (struct outcome){.judgement = machine->judgement};
	outcome_derive(&outcome, machine->scene.method, &machine->scene.specimen);
	if (write_run(machine, &outcome, &run) != STORE_OK ||
		store_run_load(machine->store, run, &stored) != STORE_OK ||
		replay_run(machine->store, &stored, &replay) != STORE_OK)
		return message_set(why, "%s", store_error(machine->store));
	bool good = same(&machine->judgement, &replay.outcome.judgement, "stored", why);
	if (good && (replay.outcome.strength_pa != outcome.strength_pa ||
			    strcmp(replay.outcome.strength_reported, outcome.strength_reported)))
		good = message_set(why, "stored: another strength");
	replay_finish(&replay);
	return good;
}

bool machine_judge_again(struct machine *machine, struct message *why)
{
	static struct judgement judgement;
	judge_in_chunks(machine, &judgement);
	if (!same(&machine->judgement, &judgement, "in chunks", why) || !open_store(machine, why))
		return false;
	bool good = derive_again(machine, why);
	close_store(machine);
	return good;
}
