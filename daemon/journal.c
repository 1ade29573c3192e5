/* SPDX-License-Identifier: MIT
 *
 * How large SQLite's log is, and what that asks for; see journal.h.
 */
#include "journal.h"

#include "log.h"

/* A log of this size means that somebody has been reading for long: ten minutes of a press at 1
 * kHz. Said again each time it has doubled. */
static const int64_t LOG_LARGE = INT64_C(64) << 20;

/* A log that took the last of the disk could never be written back into the database, which grows
 * by it: the reader gone, the disk would stay full. So as much is left alone as that may take, as
 * if the disk were full: about half of the log is new pages (eight cells of a press at 1 kHz; a
 * sixth for one).
 */
bool journal_leaves_room(struct store *store, const char *database, struct message *why)
{
	int64_t size = store_log_size(store), keep = size / 5 * 3;

	keep = keep > LOG_LARGE ? keep : LOG_LARGE;
	if (size < LOG_LARGE || store_disk_free(store) >= keep)
		return true;
	store_log_cut(store);
	size = store_log_size(store);
	if (size < LOG_LARGE)
		return true;
	message_set(why,
		"%s-wal has %lld MB, and what is left on the disk (%lld MB) is kept to write it "
		"back: end whoever reads in one transaction, or make room",
		database, (long long)(size >> 20), (long long)(store_disk_free(store) >> 20));
	return false;
}

/* A reader that does not stop is told of, and by name: recording goes on, the log grows. */
void journal_watch(struct journal *journal, struct store *store, const char *database)
{
	int64_t size = store_log_size(store);
	char readers[200];

	if (size < LOG_LARGE && !journal->told)
		return;
	int64_t left = store_disk_free(store);
	bool tight = left < size && !journal->tight;
	if (size < LOG_LARGE) {
		log_line(
			LOG_INFO, "%s-wal: cut back to %lld MB", database, (long long)(size >> 20));
		journal->told = 0;
		journal->tight = false;
	} else if (size >= 2 * journal->told || tight) {
		journal->told = size;
		journal->tight = left < size;
		store_log_readers(store, readers, sizeof readers);
		log_line(LOG_ERROR,
			"%s-wal: %lld MB and growing, %lld MB left on the disk%s: it cannot be "
			"cut back while %s reads in one transaction: end that; recording goes on",
			database, (long long)(size >> 20), (long long)(left >> 20),
			journal->tight ? ", WHICH WILL BE FULL" : "",
			readers[0] ? readers : "somebody");
	}
}
