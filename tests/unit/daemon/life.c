/* SPDX-License-Identifier: MIT
 *
 * See life.h. Two runs of each press in LIFE_WHOLE_TICKS: contact, a ramp, a break, release.
 */
#include "life.h"

#include "press_inside.h"
#include "recover.h"
#include "store/sql.h"
#include "unit/check.h"
#include "unit/store/disk.h"
#include "writer_inside.h"

#include <stdarg.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* When every life begins, on the clock of its boot. */
#define BEGIN_NS (INT64_C(3600) * CLOCKS_NS_PER_S)

struct life life;

/* ---- time, and the turns */

static struct {
	_Atomic uint64_t now_ns;
	uv_async_t *turned;
	uv_cond_t *condition;
	bool asleep; /* the thread has nothing to do until something happens */
	bool flies;  /* no turns: the thread waits for nothing but work */
	bool unsynced;
} turns;

uint64_t __wrap_uv_hrtime(void);
void __wrap_uv_cond_wait(uv_cond_t *condition, uv_mutex_t *mutex);
void __real_uv_cond_wait(uv_cond_t *condition, uv_mutex_t *mutex);
int __wrap_uv_cond_timedwait(uv_cond_t *condition, uv_mutex_t *mutex, uint64_t timeout_ns);
enum store_status __wrap_store_reopen(struct store *store, struct message *why);
void __wrap_log_line(enum log_level level, const char *format, ...);
enum store_status __real_store_reopen(struct store *store, struct message *why);

uint64_t __wrap_uv_hrtime(void)
{
	return atomic_load(&turns.now_ns);
}

/* Lives are many, and most of them trouble. */
void __wrap_log_line(enum log_level level, const char *format, ...)
{
	va_list arguments;

	if (!getenv("LIFE_LOUD"))
		return;
	va_start(arguments, format);
	printf("%d: ", (int)level);
	vprintf(format, arguments);
	putchar('\n');
	va_end(arguments);
}

static void sleep_until_turn(uv_cond_t *condition, uv_mutex_t *mutex)
{
	turns.condition = condition;
	turns.asleep = true;
	uv_async_send(turns.turned);
	while (turns.asleep && !turns.flies)
		__real_uv_cond_wait(condition, mutex);
	turns.asleep = false;
}

void __wrap_uv_cond_wait(uv_cond_t *condition, uv_mutex_t *mutex)
{
	if (turns.flies)
		__real_uv_cond_wait(condition, mutex);
	else
		sleep_until_turn(condition, mutex);
}

int __wrap_uv_cond_timedwait(uv_cond_t *condition, uv_mutex_t *mutex, uint64_t timeout_ns)
{
	if (turns.flies)
		atomic_fetch_add(&turns.now_ns, timeout_ns);
	else
		sleep_until_turn(condition, mutex);
	return 0;
}

bool life_is_refused(void)
{
	struct writer *writer = life.daemon.writer;

	uv_mutex_lock(&writer->mutex);
	bool refused = writer->tries > 0;
	uv_mutex_unlock(&writer->mutex);
	return refused;
}

/* Waits until the thread waits, and hears what it has to say. */
static void settle(void)
{
	uv_mutex_t *mutex = &life.daemon.writer->mutex;

	for (;;) {
		uv_mutex_lock(mutex);
		bool asleep = turns.asleep;
		uv_mutex_unlock(mutex);
		if (asleep)
			break;
		uv_run(&life.daemon.loop, UV_RUN_ONCE);
	}
	uv_run(&life.daemon.loop, UV_RUN_NOWAIT);
	if (life_is_refused() && life.durable)
		life.quiet = true;
}

/* Lets the thread do what is to be done at this time. It is left alone where that is nothing:
 * waking it takes longer than all else. */
static void turn(void)
{
	struct writer *writer = life.daemon.writer;
	uint64_t due_ns = writer->first_put_ns + (uint64_t)WRITER_BATCH_NS;

	if (life.stuck) {
		uv_run(&life.daemon.loop, UV_RUN_NOWAIT);
		return;
	}
	uv_mutex_lock(&writer->mutex);
	bool wanted = writer->urgent || writer->tries || losses_any(&writer->losses) ||
		      (writer->ring.count && atomic_load(&turns.now_ns) >= due_ns);
	if (wanted) {
		turns.asleep = false;
		uv_cond_signal(turns.condition);
	}
	uv_mutex_unlock(&writer->mutex);
	if (wanted)
		settle();
}

static void on_turned(uv_async_t *async)
{
	(void)async;
}

/* ---- what the writer says */

static void on_done(void *context, struct writer_note *note)
{
	(void)context;
	if (note->status != STORE_OK)
		life.refused++;
	else if (note->kind == WRITER_RUN_CLOSE && life.closed_count < LIFE_RUNS_MAX)
		life.closed[life.closed_count++] =
			(struct life_closed){note->run, note->close.reading_count};
	life.opened += note->kind == WRITER_RUN_OPEN && note->status == STORE_OK;
	if (note->kind == WRITER_RUN_OPEN || note->kind == WRITER_RUN_CLOSE)
		press_note_done(life.daemon.presses[note->press], note);
	if (note->kind == WRITER_SEAT && note->status == STORE_OK)
		press_seat(life.daemon.presses[0], &note->specimen);
}

static void on_durable(void *context, bool durable, const char *why)
{
	(void)context;
	assert_true(durable || why[0]);
	life.durable = durable;
	life.outages += !durable;
}

static void on_stored(void *context, size_t press, struct mono_time reading)
{
	(void)context;
	assert_true(reading.ns > life.stored[press].ns);
	life.stored[press] = reading;
}

static void on_request(void *context, uint64_t client, uid_t uid, struct request *request)
{
	(void)context, (void)client, (void)uid, (void)request;
}

/* ---- up and down */

/* Checkpoints so often that most cuts and faults meet one. */
static enum store_status tune(struct store *store)
{
	sqlite3_wal_autocheckpoint(store->db, 25);
	return turns.unsynced ? sql_run(store, "PRAGMA synchronous = OFF") : STORE_OK;
}

enum store_status __wrap_store_reopen(struct store *store, struct message *why)
{
	enum store_status status = __real_store_reopen(store, why);

	return status == STORE_OK ? tune(store) : status;
}

static bool open_store(struct message *why)
{
	struct actor actor = {.uid = 1};
	bool changed = false;
	struct daemon *daemon = &life.daemon;

	if (store_open(&daemon->store, life.database, STORE_WRITE, why) != STORE_OK)
		return false;
	if (store_key_take(daemon->store, &actor, (struct utc_time){1}, &changed) != STORE_OK)
		return message_set(why, "%s", store_error(daemon->store));
	return !changed || message_set(why, "another key");
}

static void make_parts(void)
{
	struct daemon *daemon = &life.daemon;
	struct writer_hooks writer_hooks = {NULL, on_done, on_durable, on_stored};
	struct clients_hooks clients_hooks = {NULL, on_request};

	assert_int_equal(uv_loop_init(&daemon->loop), 0);
	assert_int_equal(uv_async_init(&daemon->loop, &life.turned, on_turned), 0);
	daemon->config = life.config;
	snprintf(daemon->boot_id, sizeof daemon->boot_id, "one-and-the-same-boot");
	daemon->writer = writer_create(&daemon->loop, life.database, life.ring_size, &writer_hooks);
	daemon->clients = clients_create(&daemon->loop, &clients_hooks);
	struct press_world world = {&daemon->loop, life.config, daemon->lines, daemon->writer,
		daemon->clients, daemon->boot_id};
	for (size_t i = 0; i < life.config->line_count; i++)
		daemon->lines[daemon->line_count++] = line_create(&daemon->loop, life.config, i);
	for (size_t i = 0; i < life.config->press_count; i++)
		daemon->presses[daemon->press_count++] = press_create(&world, i);
}

bool life_begin(struct message *why)
{
	life.daemon = (struct daemon){.signal_fd = -1};
	life.going = false;
	life.durable = true;
	turns.turned = &life.turned;
	turns.asleep = turns.flies = false;
	turns.unsynced = life.unsynced;
	make_parts();
	if (!open_store(why))
		return false;
	tune(life.daemon.store);
	if (!recover_all(&life.daemon, why))
		return false;
	writer_start(life.daemon.writer, life.daemon.store);
	life.daemon.store = NULL;
	life.going = true;
	settle();
	return true;
}

void life_end(void)
{
	struct daemon *daemon = &life.daemon;
	uint64_t now_ns = atomic_load(&turns.now_ns);

	if (life.going) {
		uv_mutex_lock(&daemon->writer->mutex);
		turns.flies = true;
		uv_mutex_unlock(&daemon->writer->mutex);
	}
	for (size_t i = 0; i < daemon->press_count; i++)
		press_stop(daemon->presses[i]);
	writer_stop(daemon->writer);
	clients_stop(daemon->clients);
	uv_close((uv_handle_t *)&life.turned, NULL);
	uv_run(&daemon->loop, UV_RUN_DEFAULT);
	for (size_t i = 0; i < daemon->press_count; i++)
		press_destroy(daemon->presses[i]);
	for (size_t i = 0; i < daemon->line_count; i++)
		line_destroy(daemon->lines[i]);
	writer_destroy(daemon->writer);
	clients_destroy(daemon->clients);
	store_close(daemon->store);
	assert_int_equal(uv_loop_close(&daemon->loop), 0);
	/* How far it flew depends on how often the thread asked a disk that refused. */
	atomic_store(&turns.now_ns, now_ns);
	life.going = false;
}

/* ---- what the presses do */

void life_pass(int64_t time_ns)
{
	assert_false(life.going);
	atomic_fetch_add(&turns.now_ns, (uint64_t)time_ns);
}

/* Each press some time after the one before it: two seconds unloaded, a ramp, a break,
 * and two and a half with the load off. In newtons. */
static int64_t load_at(int64_t time_ns, size_t press, int64_t ramp_ns)
{
	const int64_t cycle_ns = ramp_ns + 4500 * CLOCKS_NS_PER_MS;
	int64_t at_ns = time_ns - BEGIN_NS - (int64_t)press * 1350 * CLOCKS_NS_PER_MS;

	at_ns = at_ns < 0 ? 0 : at_ns % cycle_ns - 2 * CLOCKS_NS_PER_S;
	/* 20 kN/s, and some noise that does not repeat. */
	int64_t noise = time_ns / LIFE_TICK_NS * 7919 % 13;
	return at_ns > 0 && at_ns < ramp_ns ? at_ns / 50000 + noise : noise;
}

/* In newtons; more than the noise, and above contact. */
static const int64_t LOADED = 1000;

void life_ask(const char *id)
{
	struct writer_note *add = writer_note_create(WRITER_REGISTER);
	struct writer_note *seat = writer_note_create(WRITER_SEAT);

	add->now = seat->now = (struct utc_time){1};
	add->specimen = (struct specimen){.shape = SHAPE_CYLINDER,
		.width_um = {100000, 100000},
		.length_um = 200000,
		.method = "astm-c39"};
	snprintf(add->specimen.id, sizeof add->specimen.id, "%s", id);
	seat->specimen = add->specimen;
	snprintf(seat->press_name, sizeof seat->press_name, "%s",
		press_name(life.daemon.presses[0]));
	assert_true(writer_put(life.daemon.writer, add));
	assert_true(writer_put(life.daemon.writer, seat));
}

void life_tick(void)
{
	struct daemon *daemon = &life.daemon;
	int64_t now_ns =
		(int64_t)atomic_fetch_add(&turns.now_ns, (uint64_t)LIFE_TICK_NS) + LIFE_TICK_NS;

	for (size_t i = 0; i < daemon->press_count; i++) {
		struct press *press = daemon->presses[i];
		int64_t load = life.unloaded ? 0 : load_at(now_ns, i, life.ramp_ns);
		int64_t cells = (int64_t)press->cell_count;

		life.loadings += load >= LOADED && life.loads[i] < LOADED;
		life.loads[i] = load;

		for (int64_t cell = 0; cell < cells; cell++) {
			struct reading reading = {
				.time = {now_ns - (int64_t)i * 100000 - (cells - cell) * 1000000},
				.value = {load / cells / 10, -2},
				.unit = UNIT_KILONEWTON};

			press_take_reading(press, (size_t)cell, &reading);
		}
	}
	if (now_ns == BEGIN_NS + 4 * LIFE_TICK_NS)
		life_ask("S-1");
	turn();
}

void life_ticks(size_t count)
{
	while (count--)
		life_tick();
}

int64_t life_run(size_t press)
{
	return life.daemon.presses[press]->run.number;
}

uint64_t life_lost(void)
{
	struct writer *writer = life.daemon.writer;

	uv_mutex_lock(&writer->mutex);
	uint64_t lost_count = writer->lost_count;
	uv_mutex_unlock(&writer->mutex);
	return lost_count;
}

/* ---- the folder */

static void master_path(char path[128])
{
	snprintf(path, 128, "%s/master.db", life.folder);
}

static void complain(void *context, const char *text)
{
	(void)context;
	fail_msg("%s", text);
}

static void load_config(void)
{
	char path[128];

	snprintf(path, sizeof path, "%s/config", life.folder);
	FILE *file = fopen(path, "we");
	assert_non_null(file);
	fprintf(file,
		"[ramplogd]\ndatabase = %s\nsocket = %s/socket\n"
		"[press north]\ncapacity = 2000 kN\ncontact = 0.3 kN\n"
		"[cell left]\npress = north\ndevice = %s/1\nbaud = 9600\n"
		"[cell right]\npress = north\ndevice = %s/2\nbaud = 9600\n"
		"[press south]\ncapacity = 2000 kN\ncontact = 0.3 kN\n"
		"[cell below]\npress = south\ndevice = %s/3\nbaud = 9600\n"
		"[press west]\ncapacity = 2000 kN\ncontact = 0.3 kN\n"
		"[cell above]\npress = west\ndevice = %s/4\nbaud = 9600\n",
		life.database, life.folder, life.folder, life.folder, life.folder, life.folder);
	assert_int_equal(fclose(file), 0);
	life.config = config_load(path, complain, NULL, NULL);
	assert_non_null(life.config);
}

int life_setup(void **state)
{
	char path[128];
	struct message why = {""};

	(void)state;
	life = (struct life){
		.folder = "/tmp/ramplog-life-XXXXXX", .ring_size = 2048, .ramp_ns = LIFE_RAMP_NS};
	assert_non_null(mkdtemp(life.folder));
	snprintf(life.database, sizeof life.database, "%s/test.db", life.folder);
	load_config();
	atomic_store(&turns.now_ns, (uint64_t)BEGIN_NS);
	if (!life_begin(&why))
		fail_msg("%s", why.text);
	life_end();
	master_path(path);
	disk_copy(life.database, path);
	disk_begin();
	return 0;
}

int life_teardown(void **state)
{
	char command[128];

	(void)state;
	disk_end();
	config_destroy(life.config);
	snprintf(command, sizeof command, "rm -r %s", life.folder);
	return system(command);
}

void life_renew(void)
{
	char path[128];

	master_path(path);
	disk_copy(path, life.database);
	disk_reset(life.database);
	atomic_store(&turns.now_ns, (uint64_t)BEGIN_NS);
	memset(life.stored, 0, sizeof life.stored);
	life.closed_count = life.opened = 0;
	life.outages = life.refused = 0;
	life.quiet = life.unloaded = false;
	life.loadings = 0;
	memset(life.loads, 0, sizeof life.loads);
}
