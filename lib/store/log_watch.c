/* SPDX-License-Identifier: MIT
 *
 * The write-ahead log while somebody reads. SQLite can only cut it back when no reader needs what
 * is in it: one that holds its snapshot for an hour keeps an hour of commits there. Nothing stops
 * such a reader, short of ending its process; so its process is named.
 *
 * Who reads is known from the kernel's list of locks: each snapshot is a shared lock on one of five
 * bytes of DATABASE-shm. That file is not opened for it: closing it would drop SQLite's own locks.
 */
#include "store/sql.h"

#include "base/text.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/statvfs.h>
#include <sys/sysmacros.h>
#include <unistd.h>

/* Where SQLite's wal-index keeps the locks of snapshots (its file format, "WAL-Index
 * Format", 2.3.1: eight bytes from 120 on, the last five of them for readers). */
enum { READ_LOCK_FIRST = 123, READ_LOCK_LAST = 127 };

static bool file_beside(const struct store *store, const char *ending, struct stat *file)
{
	char path[sizeof(store->path) + 8];
	struct text text;

	text_init(&text, path, sizeof(path));
	text_put(&text, store->path);
	text_put(&text, ending);
	return stat(path, file) == 0;
}

/* One line of /proc/locks: "1: POSIX  ADVISORY  READ 4711 fe:01:1234 123 123". */
static bool holds_snapshot(const char *line, const struct stat *shm, int *process)
{
	unsigned major_number, minor_number;
	unsigned long long inode;
	long long first;
	char kind[16];

	if (sscanf(line, "%*d: POSIX %*s %15s %d %x:%x:%llu %lld", kind, process, &major_number,
		    &minor_number, &inode, &first) != 6)
		return false;
	return strcmp(kind, "READ") == 0 && inode == shm->st_ino &&
	       major_number == major(shm->st_dev) && minor_number == minor(shm->st_dev) &&
	       first >= READ_LOCK_FIRST && first <= READ_LOCK_LAST && *process != getpid();
}

static void put_process(struct text *text, int process)
{
	char path[64], name[64] = "";

	snprintf(path, sizeof(path), "/proc/%d/comm", process);
	FILE *file = fopen(path, "re");
	if (file && fgets(name, sizeof(name), file))
		name[strcspn(name, "\n")] = '\0';
	if (file)
		fclose(file);
	text_format(text, "%sprocess %d (%s)", text->length ? ", " : "", process, name);
}

int64_t store_log_size(const struct store *store)
{
	struct stat wal;

	return file_beside(store, "-wal", &wal) ? wal.st_size : 0;
}

void store_log_cut(struct store *store)
{
	sqlite3_wal_checkpoint_v2(store->db, NULL, SQLITE_CHECKPOINT_TRUNCATE, NULL, NULL);
}

int64_t store_disk_free(const struct store *store)
{
	struct statvfs disk;

	return statvfs(store->path, &disk) == 0 ? (int64_t)disk.f_bavail * (int64_t)disk.f_frsize
						: INT64_MAX;
}

void store_log_readers(const struct store *store, char *readers, size_t size)
{
	char line[256];
	struct stat shm;
	struct text text;
	int process;

	text_init(&text, readers, size);
	FILE *locks = file_beside(store, "-shm", &shm) ? fopen("/proc/locks", "re") : NULL;
	while (locks && fgets(line, sizeof(line), locks)) {
		if (holds_snapshot(line, &shm, &process))
			put_process(&text, process);
	}
	if (locks)
		fclose(locks);
}
