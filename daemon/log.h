/* SPDX-License-Identifier: MIT
 *
 * The daemon's log: one line per change of state on stderr, for a person or the journal. May be
 * called from both threads; each line is one write.
 */
#ifndef DAEMON_LOG_H
#define DAEMON_LOG_H

enum log_level {
	LOG_ERROR,   /* a person has to do something */
	LOG_WARNING, /* a person should look */
	LOG_INFO,    /* a change of state */
	LOG_DEBUG,
};

/* Lines above this level are left out; the default is LOG_INFO. Call before threads start. */
void log_init(enum log_level level);

/* Adds "ramplogd: " before and LF after; under the journal a priority before that. */
void log_line(enum log_level level, const char *format, ...) __attribute__((format(printf, 2, 3)));

#endif
