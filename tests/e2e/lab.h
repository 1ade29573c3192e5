/* SPDX-License-Identifier: MIT
 *
 * A laboratory in a folder of its own: config, database, socket, presses 1 to LAB_PRESSES_MAX whose
 * cells are simulated, the daemon. One at a time.
 */
#ifndef TESTS_E2E_LAB_H
#define TESTS_E2E_LAB_H

#include "harness.h"

#include <jansson.h>
#include <stdint.h>

/* The load that counts as contact in the laboratory's config: 400 N. */
#define LAB_CONTACT_UN INT64_C(400000000)

enum { LAB_PRESSES_MAX = 12, LAB_PATH_SIZE = 128, LAB_ARGUMENTS_MAX = 32 };

struct lab {
	char folder[LAB_PATH_SIZE];
	char config[LAB_PATH_SIZE], database[LAB_PATH_SIZE], socket[LAB_PATH_SIZE];
	char device[LAB_PRESSES_MAX][LAB_PATH_SIZE]; /* links to the cells' pseudo terminals */
	char press[LAB_PRESSES_MAX][32];             /* "press-1" ... */
};

/* Makes the folder with a config for that many presses of one cell each. cmocka set-up and
 * tear-down: lab_set_up makes one for a single press, lab_tear_down ends all programs and removes
 * the folder. */
void lab_open(struct lab *lab, size_t press_count);
void lab_close(struct lab *lab);
int lab_set_up(void **state);
int lab_tear_down(void **state);

/* Appends to a file, which is made if there is none. */
void lab_write(const char *path, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* rampsim for that press (0 ...), with curves that begin at "go"; further arguments end with NULL.
 */
struct harness_process *lab_start_press(struct lab *lab, size_t press, ...)
	__attribute__((sentinel));
/* The daemon, once it serves. */
struct harness_process *lab_start_daemon(struct lab *lab);
/* The daemon, whatever comes of it. */
struct harness_process *lab_try_daemon(struct lab *lab);
/* ramplog monitor --plain. */
struct harness_process *lab_start_monitor(struct lab *lab);

/* Runs ramplog with these arguments (ended by NULL) on this laboratory's database and socket. */
struct harness_output lab_run(struct lab *lab, ...) __attribute__((sentinel));
/* The same; fails unless the status is as expected. Nothing to free. */
void lab_must(struct lab *lab, int status, ...) __attribute__((sentinel));
/* The same with --json added and status 0; the caller drops the reference. */
json_t *lab_json(struct lab *lab, ...) __attribute__((sentinel));

/* The clock that readings are stamped with. */
int64_t lab_now_ns(void);

#endif
