/* SPDX-License-Identifier: MIT
 *
 * The database under bad luck: the daemon killed in mid-run, a disk that fills up, a database that
 * a newer program wrote, a file that is no database, a disk that takes no writing, an audit that is
 * interrupted.
 */
#include "exported.h"
#include "lab.h"

#include "unit/check.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mount.h>
#include <sys/stat.h>
#include <unistd.h>

static size_t count_events(struct lab *lab, const char *run, const char *kind)
{
	json_t *object = lab_json(lab, "show", run, NULL), *event = NULL;
	size_t index, count = 0;
	json_array_foreach(json_object_get(object, "events"), index, event) count +=
		strcmp(json_string_value(json_object_get(event, "kind")), kind) == 0;
	json_decref(object);
	return count;
}

static void seat_specimen(struct lab *lab, const char *anticipated_mpa)
{
	lab_must(lab, 0, "register", "pier-7d-A", "--diameter-mm", "100", "--length-mm", "200",
		"--anticipated-mpa", anticipated_mpa, NULL);
	lab_must(lab, 0, "seat", "press-1", "pier-7d-A", NULL);
}

/* What a batch of readings may hold, and what its commit may take where the disk is busy. */
enum { BATCH_MS = 250, COMMIT_MS = 150 };

/* The promise: a quarter of a second of readings at most, and the time of the restart. A gap is one
 * on record where the judge's policy calls it one (0.15 s). */
static void check_loss(struct lab *lab, const char *run, int64_t restart_ns)
{
	struct curve curve;
	int64_t longest_ns = 0;
	exported_run(lab, run, &curve);
	for (size_t i = 1; i < curve.count; i++) {
		int64_t step_ns = curve.samples[i].time.ns - curve.samples[i - 1].time.ns;
		longest_ns = step_ns > longest_ns ? step_ns : longest_ns;
	}
	curve_finish(&curve);
	print_message("a kill and a restart of %lld ms cost %lld ms\n",
		(long long)(restart_ns / CLOCKS_NS_PER_MS),
		(long long)(longest_ns / CLOCKS_NS_PER_MS));
	assert_true(longest_ns < restart_ns + (BATCH_MS + COMMIT_MS) * CLOCKS_NS_PER_MS);
	size_t gaps = count_events(lab, run, "gap");
	assert_true(longest_ns > 120 * CLOCKS_NS_PER_MS || gaps == 0);
	assert_true(longest_ns < 180 * CLOCKS_NS_PER_MS || gaps >= 1);
}

/* While the load is on, the same run goes on. */
static void test_killed_in_mid_run(void **state)
{
	struct lab *lab = *state;
	struct harness_process *press = lab_start_press(
		lab, 0, "--curve", "good,good", "--strength-mpa", "4", "--hz", "100", NULL);
	struct harness_process *daemon = lab_start_daemon(lab);
	struct harness_process *monitor = lab_start_monitor(lab);
	harness_expect(daemon, "ready", NULL);
	seat_specimen(lab, "4");
	harness_tell(press, "go");
	harness_expect(monitor, "latter half", NULL);
	int64_t killed_ns = lab_now_ns();
	assert_int_equal(harness_stop(daemon, SIGKILL), 128 + SIGKILL);
	daemon = lab_start_daemon(lab);
	harness_expect(daemon, "ready", NULL);
	int64_t restart_ns = lab_now_ns() - killed_ns;
	harness_expect(daemon, "run 1", "broken", NULL);
	check_loss(lab, "1", restart_ns);
	harness_tell(press, "go");
	harness_expect(daemon, "run 2", "broken", NULL);
	lab_must(lab, 0, "audit", NULL);
	assert_int_equal(harness_stop(daemon, SIGTERM), 0);
}

/* Killed in mid-run, and back only when the load is off: the run is closed, with a gap, and nobody
 * says how the load went. The latter half takes eight seconds, so that a slow machine still kills
 * within it. */
static void test_killed_and_back_too_late(void **state)
{
	struct lab *lab = *state;
	struct harness_process *press = lab_start_press(
		lab, 0, "--curve", "good", "--strength-mpa", "4", "--hz", "100", NULL);
	struct harness_process *daemon = lab_start_daemon(lab);
	struct harness_process *monitor = lab_start_monitor(lab);
	harness_expect(daemon, "ready", NULL);
	seat_specimen(lab, "4");
	harness_tell(press, "go");
	harness_expect(monitor, "latter half", NULL);
	harness_stop(daemon, SIGKILL);
	harness_expect(press, "ends", NULL);
	daemon = lab_start_daemon(lab);
	harness_expect(daemon, "run 1", "closed", NULL);
	json_t *object = lab_json(lab, "show", "1", NULL);
	assert_string_equal(json_string_value(json_object_get(object, "end")), "interrupted");
	json_decref(object);
	assert_true(count_events(lab, "1", "gap") >= 1);
	lab_must(lab, 0, "audit", NULL);
	assert_int_equal(harness_stop(daemon, SIGTERM), 0);
}

static void expect_refused(struct lab *lab, const char *said)
{
	struct harness_process *daemon = lab_try_daemon(lab);
	harness_expect(daemon, lab->database, said, NULL);
	assert_int_equal(harness_wait(daemon), 2);
}

/* SQLite keeps the application's schema version at byte 60 of the file, big-endian. */
static void test_database_of_a_newer_version(void **state)
{
	struct lab *lab = *state;
	const unsigned char version[] = {0, 0, 0x7f, 0xff};
	harness_stop(lab_start_daemon(lab), SIGTERM);
	int file = open(lab->database, O_WRONLY | O_CLOEXEC);
	assert_int_equal(pwrite(file, version, sizeof version, 60), sizeof version);
	close(file);
	expect_refused(lab, "newer");
	lab_must(lab, 2, "runs", NULL);
	lab_must(lab, 2, "audit", NULL);
}

static void test_file_that_is_no_database(void **state)
{
	struct lab *lab = *state;
	lab_write(lab->database, "Dear diary, today three cylinders broke.\n");
	expect_refused(lab, "database");
	lab_must(lab, 2, "runs", NULL);
}

static void test_database_that_is_not_there(void **state)
{
	struct lab *lab = *state;
	lab_must(lab, 2, "runs", NULL);
	lab_must(lab, 2, "audit", NULL);
}

/* Interrupted before any run was looked at: that is no clean bill. */
static void test_audit_interrupted_early(void **state)
{
	struct lab *lab = *state;
	harness_stop(lab_start_daemon(lab), SIGTERM);
	lab_must(lab, 0, "audit", NULL);
	const char *const argv[] = {
		getenv("RAMPLOG_INTERRUPTED"), "audit", "--database", lab->database, NULL};
	struct harness_output output = harness_run(argv);
	assert_non_null(strstr(output.text, "interrupted after 0 of 0 runs"));
	assert_null(strstr(output.text, "all runs re-derived"));
	assert_int_equal(output.status, 2);
	harness_output_finish(&output);
}

/* A small file system in the laboratory; skips the test where nobody may mount one. */
static void mount_disk(struct lab *lab, const char *options, unsigned long flags)
{
	char path[LAB_PATH_SIZE];
	snprintf(path, sizeof path, "%.60s/disk", lab->folder);
	if ((flags & MS_REMOUNT) == 0)
		assert_int_equal(mkdir(path, 0700), 0);
	if (mount("tmpfs", path, "tmpfs", flags, options) == 0)
		return;
	print_message("no file system can be mounted here: %s\n", strerror(errno));
	skip();
}

static void move_database_to_disk(struct lab *lab)
{
	snprintf(lab->database, LAB_PATH_SIZE, "%.60s/disk/runs.db", lab->folder);
	remove(lab->config);
	lab_write(lab->config,
		"[ramplogd]\ndatabase = %s\nsocket = %s\n[press press-1]\ncapacity = 2000 kN\n"
		"contact = 400 N\n[cell cell-1]\npress = press-1\ndevice = %s\nbaud = 921600\n",
		lab->database, lab->socket, lab->device[0]);
}

static int tear_down_disk(void **state)
{
	struct lab *lab = *state;
	char path[LAB_PATH_SIZE];
	harness_stop_all();
	snprintf(path, sizeof path, "%.60s/disk", lab->folder);
	umount2(path, MNT_DETACH);
	return lab_tear_down(state);
}

/* Writes until the disk is full. */
static void fill_disk(struct lab *lab, const char *path)
{
	static const char block[4096];
	int file = open(path, O_WRONLY | O_CREAT | O_CLOEXEC, 0600);
	(void)lab;
	assert_true(file >= 0);
	while (write(file, block, sizeof block) > 0)
		;
	assert_int_equal(errno, ENOSPC);
	close(file);
}

/* Nothing is lost: what the disk refused is written when it has room again. */
static void test_disk_that_fills_up(void **state)
{
	struct lab *lab = *state;
	char filler[LAB_PATH_SIZE];
	mount_disk(lab, "size=2m", 0);
	move_database_to_disk(lab);
	snprintf(filler, sizeof filler, "%.60s/disk/filler", lab->folder);
	struct harness_process *press = lab_start_press(
		lab, 0, "--curve", "good", "--strength-mpa", "2", "--hz", "200", NULL);
	struct harness_process *daemon = lab_start_daemon(lab);
	struct harness_process *monitor = lab_start_monitor(lab);
	harness_expect(daemon, "ready", NULL);
	fill_disk(lab, filler);
	harness_tell(press, "go");
	harness_expect(daemon, "full", NULL);
	harness_expect(press, "ends", NULL);
	assert_int_equal(remove(filler), 0);
	harness_expect(daemon, "run 1", "broken", NULL);
	(void)monitor;
	assert_int_equal(count_events(lab, "1", "gap"), 0);
	lab_must(lab, 0, "audit", NULL);
	assert_int_equal(harness_stop(daemon, SIGTERM), 0);
}

/* A command of the machine's own in the laboratory's folder. */
static bool does(const struct lab *lab, const char *command)
{
	char line[LAB_PATH_SIZE + 160];
	snprintf(line, sizeof line, "cd %.60s && PATH=$PATH:/sbin:/usr/sbin && %s", lab->folder,
		command);
	return system(line) == 0;
}

/* An ext4 file system gives up in mid-run, as it does by itself after an error: it takes no writing
 * and cannot be made to without unmounting it (nor would a kernel mount any file system read-only
 * while a database on it is open). Unmounted, mended and mounted again under the daemon that waits:
 * all is written. */
static void test_file_system_that_gives_up(void **state)
{
	struct lab *lab = *state;
	if (!does(lab, "mkdir disk && truncate -s 16M image && mkfs.ext4 -q image && "
		       "mount -o loop,errors=remount-ro image disk")) {
		print_message("no ext4 on a loop device can be mounted here\n");
		skip();
	}
	move_database_to_disk(lab);
	struct harness_process *press = lab_start_press(
		lab, 0, "--curve", "good", "--strength-mpa", "2", "--hz", "200", NULL);
	struct harness_process *daemon = lab_start_daemon(lab);
	struct harness_process *monitor = lab_start_monitor(lab);
	harness_expect(daemon, "ready", NULL);
	harness_tell(press, "go");
	harness_expect(daemon, "run 1 opened", NULL);
	assert_true(does(lab, "mount -o remount,abort disk"));
	harness_expect(daemon, "NOT STORED", NULL);
	harness_expect(monitor, "the disk takes no readings", NULL);
	harness_expect(press, "ends", NULL);
	/* Busy only in the moments in which the daemon tries. */
	for (int tries = 0; !does(lab, "umount disk"); tries++) {
		assert_true(tries < 1000);
		poll(NULL, 0, 10);
	}
	assert_true(does(lab, "e2fsck -p image >e2fsck.log || [ $? -eq 1 ]"));
	assert_true(does(lab, "mount -o loop image disk"));
	harness_expect(daemon, "run 1", "broken", NULL);
	harness_expect(daemon, "taken all readings again", NULL);
	assert_int_equal(count_events(lab, "1", "gap"), 0);
	lab_must(lab, 0, "audit", NULL);
	assert_int_equal(harness_stop(daemon, SIGTERM), 0);
}

static void test_disk_that_is_read_only(void **state)
{
	struct lab *lab = *state;
	mount_disk(lab, "size=2m", 0);
	move_database_to_disk(lab);
	harness_stop(lab_start_daemon(lab), SIGTERM);
	mount_disk(lab, "size=2m", MS_REMOUNT | MS_RDONLY);
	expect_refused(lab, "Read-only");
	lab_must(lab, 1, "runs", NULL);
}

/* A write, a sync, a read that fails once in mid-run, and then a disk that takes no writing for as
 * long as the loading goes on, as when it is mounted read-only: said loudly each time, and all of
 * it is stored in the end. */
static void test_disk_that_refuses(void **state)
{
	static const struct {
		const char *call;
		int error;
	} once[] = {{"write", EIO}, {"sync", EIO}, {"sync", EIO}, {"write", EIO}};
	struct lab *lab = *state;
	char fault[LAB_PATH_SIZE];
	snprintf(fault, sizeof fault, "%.60s/fault", lab->folder);
	setenv("RAMPLOG_TEST_DISK", fault, 1);
	struct harness_process *press = lab_start_press(
		lab, 0, "--curve", "good", "--strength-mpa", "8", "--hz", "100", NULL);
	const char *const argv[] = {getenv("RAMPLOGD_DISK"), "--config", lab->config, NULL};
	struct harness_process *daemon = harness_start(argv);
	harness_expect(daemon, lab->socket, NULL);
	harness_expect(daemon, "ready", NULL);
	struct harness_process *monitor = lab_start_monitor(lab);
	harness_tell(press, "go");
	harness_expect(daemon, "run 1 opened", NULL);
	for (size_t i = 0; i < sizeof once / sizeof *once; i++) {
		lab_write(fault, "%s %d once\n", once[i].call, once[i].error);
		harness_expect(daemon, "NOT STORED", NULL);
		harness_expect(daemon, "taken all readings again", NULL);
	}
	lab_write(fault, "read %d once\n", EIO); /* whenever it reads next: at the latest now */
	lab_must(lab, 0, "register", "pier-7d-A", "--diameter-mm", "100", NULL);
	remove(fault);
	lab_write(fault, "write %d on\n", EROFS);
	harness_expect(daemon, "NOT STORED", NULL);
	harness_expect(monitor, "the disk takes no readings", NULL);
	harness_expect(press, "ends", NULL);
	assert_int_equal(remove(fault), 0);
	harness_expect(daemon, "run 1", "broken", NULL);
	unsetenv("RAMPLOG_TEST_DISK");
	assert_int_equal(count_events(lab, "1", "gap"), 0);
	lab_must(lab, 0, "audit", NULL);
	assert_int_equal(harness_stop(daemon, SIGTERM), 0);
}

#define IN_LAB(test) cmocka_unit_test_setup_teardown(test, lab_set_up, lab_tear_down)
#define ON_DISK(test) cmocka_unit_test_setup_teardown(test, lab_set_up, tear_down_disk)

int main(void)
{
	const struct CMUnitTest tests[] = {
		IN_LAB(test_killed_in_mid_run),
		IN_LAB(test_killed_and_back_too_late),
		IN_LAB(test_database_of_a_newer_version),
		IN_LAB(test_file_that_is_no_database),
		IN_LAB(test_database_that_is_not_there),
		IN_LAB(test_audit_interrupted_early),
		IN_LAB(test_disk_that_refuses),
		ON_DISK(test_disk_that_fills_up),
		ON_DISK(test_disk_that_is_read_only),
		ON_DISK(test_file_system_that_gives_up),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
