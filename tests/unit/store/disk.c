/* SPDX-License-Identifier: MIT
 *
 * A layer over SQLite's own way to files. It watches the database and its log, the two files that
 * hold evidence; the shared memory beside them is made anew after a power cut anyway.
 */
#include "unit/store/disk.h"

#include "unit/check.h"

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

enum { SECTOR = 512, WATCHED = 2, PATH_SIZE = 300 };

struct change {
	struct change *next;
	int64_t offset;
	size_t size;    /* of bytes */
	bool truncates; /* to offset */
	unsigned char bytes[];
};

struct image {
	unsigned char *bytes;
	size_t size;
};

struct watched {
	char path[PATH_SIZE];
	bool there; /* synced at least once */
	struct image synced;
	struct change *first, **last;
};

struct file {
	sqlite3_file base;
	struct watched *watched; /* NULL: not of those */
	sqlite3_file *real;
};

static struct {
	sqlite3_vfs vfs;
	sqlite3_vfs *real;
	struct watched files[WATCHED];
	uint64_t steps, cut_at;
	uint64_t seed; /* of what a failed sync loses */
	bool cut;
	uint64_t counts[DISK_CALLS], fail_at[DISK_CALLS];
	bool for_good[DISK_CALLS];
} disk;

static struct file *of(sqlite3_file *file)
{
	return (struct file *)file;
}

static void path_beside(char path[PATH_SIZE], const char *database, const char *ending)
{
	assert_true(snprintf(path, PATH_SIZE, "%s%s", database, ending) < PATH_SIZE);
}

/* ---- copies */

static void copy_file(const char *from, const char *to)
{
	static char bytes[1 << 22];
	FILE *source = fopen(from, "rb"), *target = fopen(to, "wb");

	assert_non_null(source);
	assert_non_null(target);
	size_t size = fread(bytes, 1, sizeof(bytes), source);
	assert_true(size < sizeof(bytes));
	assert_int_equal(fwrite(bytes, 1, size, target), size);
	assert_int_equal(fclose(source), 0);
	assert_int_equal(fclose(target), 0);
	chmod(to, 0600);
}

void disk_copy(const char *from, const char *to)
{
	static const char *const copied[] = {"", ".key"}, *const removed[] = {"-wal", "-shm"};
	char source[PATH_SIZE], target[PATH_SIZE];

	for (size_t i = 0; i < 2; i++) {
		path_beside(target, to, removed[i]);
		remove(target);
		path_beside(source, from, copied[i]);
		path_beside(target, to, copied[i]);
		copy_file(source, target);
	}
}

/* ---- images */

static void put(struct image *image, int64_t offset, const unsigned char *bytes, size_t size)
{
	size_t end = (size_t)offset + size;

	if (end > image->size) {
		image->bytes = realloc(image->bytes, end);
		assert_non_null(image->bytes);
		memset(image->bytes + image->size, 0, end - image->size);
		image->size = end;
	}
	memcpy(image->bytes + offset, bytes, size);
}

static void apply(struct image *image, const struct change *change)
{
	if (!change->truncates)
		put(image, change->offset, change->bytes, change->size);
	else if ((size_t)change->offset < image->size)
		image->size = (size_t)change->offset;
}

static void remember(
	struct watched *watched, int64_t offset, const void *bytes, size_t size, bool truncates)
{
	struct change *change = malloc(sizeof(*change) + size);

	assert_non_null(change);
	*change = (struct change){.offset = offset, .size = size, .truncates = truncates};
	if (size > 0)
		memcpy(change->bytes, bytes, size);
	*watched->last = change;
	watched->last = &change->next;
}

static void forget(struct watched *watched)
{
	while (watched->first) {
		struct change *change = watched->first;
		watched->first = change->next;
		free(change);
	}
	watched->last = &watched->first;
}

static void sync_image(struct watched *watched)
{
	for (const struct change *change = watched->first; change; change = change->next)
		apply(&watched->synced, change);
	watched->there = true;
	forget(watched);
}

/* ---- faults */

/* True: this call fails. */
static bool count(enum disk_call call)
{
	uint64_t now = ++disk.counts[call];

	bool step = call == DISK_WRITE || call == DISK_TRUNCATE || call == DISK_SYNC;

	if (step && !disk.cut && ++disk.steps == disk.cut_at)
		disk.cut = true;
	if (disk.cut)
		return true;
	return disk.fail_at[call] > 0 &&
	       (disk.for_good[call] ? now >= disk.fail_at[call] : now == disk.fail_at[call]);
}

uint64_t disk_draw(uint64_t *seed, uint64_t below)
{
	*seed = *seed * 6364136223846793005u + 1442695040888963407u;
	return (*seed >> 33) % below;
}

/* Whole, not at all, or some of its sectors. */
static void survive(struct image *image, const struct change *change, uint64_t *seed)
{
	uint64_t fate = disk_draw(seed, 3);

	if (fate == 0)
		return;
	if (fate == 1 || change->truncates) {
		apply(image, change);
		return;
	}
	for (size_t at = 0; at < change->size;) {
		size_t size = SECTOR - (size_t)(change->offset + (int64_t)at) % SECTOR;
		size = size < change->size - at ? size : change->size - at;
		if (disk_draw(seed, 2))
			put(image, change->offset + (int64_t)at, change->bytes + at, size);
		at += size;
	}
}

/* A kernel takes what it could not write for written, and does not try again. */
static void lose_some(struct watched *watched)
{
	for (const struct change *change = watched->first; change; change = change->next)
		survive(&watched->synced, change, &disk.seed);
	forget(watched);
}

/* ---- SQLite's methods */

static int file_close(sqlite3_file *file)
{
	return of(file)->real->pMethods ? of(file)->real->pMethods->xClose(of(file)->real)
					: SQLITE_OK;
}

static int file_read(sqlite3_file *file, void *bytes, int size, sqlite3_int64 offset)
{
	if (of(file)->watched && count(DISK_READ))
		return SQLITE_IOERR_READ;
	return of(file)->real->pMethods->xRead(of(file)->real, bytes, size, offset);
}

static int file_write(sqlite3_file *file, const void *bytes, int size, sqlite3_int64 offset)
{
	struct watched *watched = of(file)->watched;

	if (watched && count(DISK_WRITE)) {
		/* What was under way when the power went may have come halfway. */
		if (disk.cut && disk.steps == disk.cut_at)
			remember(watched, offset, bytes, (size_t)size, false);
		return SQLITE_IOERR_WRITE;
	}
	if (watched)
		remember(watched, offset, bytes, (size_t)size, false);
	return of(file)->real->pMethods->xWrite(of(file)->real, bytes, size, offset);
}

static int file_truncate(sqlite3_file *file, sqlite3_int64 size)
{
	if (of(file)->watched && count(DISK_TRUNCATE))
		return SQLITE_IOERR_TRUNCATE;
	if (of(file)->watched)
		remember(of(file)->watched, size, NULL, 0, true);
	return of(file)->real->pMethods->xTruncate(of(file)->real, size);
}

static int file_sync(sqlite3_file *file, int flags)
{
	(void)flags;
	if (of(file)->watched && count(DISK_SYNC)) {
		if (!disk.cut)
			lose_some(of(file)->watched);
		return SQLITE_IOERR_FSYNC;
	}
	/* A real sync would only cost time. */
	if (of(file)->watched)
		sync_image(of(file)->watched);
	return SQLITE_OK;
}

static int file_size(sqlite3_file *file, sqlite3_int64 *size)
{
	return of(file)->real->pMethods->xFileSize(of(file)->real, size);
}

static int file_lock(sqlite3_file *file, int level)
{
	if (of(file)->watched && count(DISK_LOCK))
		return SQLITE_IOERR_LOCK;
	return of(file)->real->pMethods->xLock(of(file)->real, level);
}

static int file_unlock(sqlite3_file *file, int level)
{
	return of(file)->real->pMethods->xUnlock(of(file)->real, level);
}

static int file_reserved(sqlite3_file *file, int *out)
{
	return of(file)->real->pMethods->xCheckReservedLock(of(file)->real, out);
}

static int file_control(sqlite3_file *file, int op, void *argument)
{
	/* Neither sized in advance nor mapped: every byte passes here. */
	if (op == SQLITE_FCNTL_SIZE_HINT || op == SQLITE_FCNTL_CHUNK_SIZE)
		return SQLITE_OK;
	return of(file)->real->pMethods->xFileControl(of(file)->real, op, argument);
}

static int file_sector(sqlite3_file *file)
{
	return of(file)->real->pMethods->xSectorSize(of(file)->real);
}

static int file_character(sqlite3_file *file)
{
	return of(file)->real->pMethods->xDeviceCharacteristics(of(file)->real);
}

static int shm_map(sqlite3_file *file, int page, int size, int extend, void volatile **out)
{
	if (of(file)->watched && count(DISK_SHARE))
		return SQLITE_IOERR_SHMMAP;
	return of(file)->real->pMethods->xShmMap(of(file)->real, page, size, extend, out);
}

static int shm_lock(sqlite3_file *file, int offset, int number, int flags)
{
	/* What lets a lock go cannot fail. */
	if (of(file)->watched && (flags & SQLITE_SHM_LOCK) && count(DISK_LOCK))
		return SQLITE_IOERR_SHMLOCK;
	return of(file)->real->pMethods->xShmLock(of(file)->real, offset, number, flags);
}

static void shm_barrier(sqlite3_file *file)
{
	of(file)->real->pMethods->xShmBarrier(of(file)->real);
}

static int shm_unmap(sqlite3_file *file, int delete)
{
	return of(file)->real->pMethods->xShmUnmap(of(file)->real, delete);
}

static const sqlite3_io_methods methods = {
	.iVersion = 2,
	.xClose = file_close,
	.xRead = file_read,
	.xWrite = file_write,
	.xTruncate = file_truncate,
	.xSync = file_sync,
	.xFileSize = file_size,
	.xLock = file_lock,
	.xUnlock = file_unlock,
	.xCheckReservedLock = file_reserved,
	.xFileControl = file_control,
	.xSectorSize = file_sector,
	.xDeviceCharacteristics = file_character,
	.xShmMap = shm_map,
	.xShmLock = shm_lock,
	.xShmBarrier = shm_barrier,
	.xShmUnmap = shm_unmap,
};

static struct watched *find_watched(const char *path)
{
	for (size_t i = 0; path && i < WATCHED; i++) {
		if (strcmp(disk.files[i].path, path) == 0)
			return &disk.files[i];
	}
	return NULL;
}

static int vfs_open(sqlite3_vfs *vfs, const char *path, sqlite3_file *file, int flags, int *out)
{
	struct file *made = of(file);

	(void)vfs;
	made->real = (sqlite3_file *)(made + 1);
	made->watched = find_watched(path);
	made->base.pMethods = NULL;
	if (made->watched && count(DISK_NAME))
		return SQLITE_CANTOPEN;
	int answer = disk.real->xOpen(disk.real, path, made->real, flags, out);
	made->base.pMethods = answer == SQLITE_OK ? &methods : NULL;
	return answer;
}

static int vfs_delete(sqlite3_vfs *vfs, const char *path, int sync)
{
	struct watched *watched = find_watched(path);

	(void)vfs;
	if (watched && count(DISK_NAME))
		return SQLITE_IOERR_DELETE;
	if (watched) {
		forget(watched);
		watched->synced.size = 0;
		watched->there = false;
	}
	return disk.real->xDelete(disk.real, path, sync);
}

void disk_begin(void)
{
	disk.real = sqlite3_vfs_find(NULL);
	disk.vfs = *disk.real;
	disk.vfs.zName = "disk";
	disk.vfs.pNext = NULL;
	disk.vfs.szOsFile = (int)sizeof(struct file) + disk.real->szOsFile;
	disk.vfs.xOpen = vfs_open;
	disk.vfs.xDelete = vfs_delete;
	for (size_t i = 0; i < WATCHED; i++)
		disk.files[i].last = &disk.files[i].first;
	assert_int_equal(sqlite3_vfs_register(&disk.vfs, 1), SQLITE_OK);
}

void disk_end(void)
{
	sqlite3_vfs_unregister(&disk.vfs);
	sqlite3_vfs_register(disk.real, 1);
	for (size_t i = 0; i < WATCHED; i++) {
		forget(&disk.files[i]);
		free(disk.files[i].synced.bytes);
		disk.files[i].synced = (struct image){NULL, 0};
	}
}

static void load(struct watched *watched)
{
	unsigned char bytes[4096];
	size_t size;
	int64_t offset = 0;
	FILE *file = fopen(watched->path, "rb");

	forget(watched);
	watched->synced.size = 0;
	watched->there = file != NULL;
	while (file && (size = fread(bytes, 1, sizeof(bytes), file)) > 0) {
		put(&watched->synced, offset, bytes, size);
		offset += (int64_t)size;
	}
	if (file)
		fclose(file);
}

void disk_reset(const char *database)
{
	static const char *const ends[WATCHED] = {"", "-wal"};

	for (size_t i = 0; i < WATCHED; i++) {
		path_beside(disk.files[i].path, database, ends[i]);
		load(&disk.files[i]);
	}
	disk.steps = disk.cut_at = 0;
	disk.seed = 1;
	disk.cut = false;
	memset(disk.counts, 0, sizeof(disk.counts));
	memset(disk.fail_at, 0, sizeof(disk.fail_at));
}

void disk_cut_at(uint64_t n)
{
	disk.cut_at = disk.steps + n;
}

bool disk_is_cut(void)
{
	return disk.cut;
}

void disk_fail(enum disk_call call, uint64_t n, bool for_good)
{
	disk.fail_at[call] = n ? disk.counts[call] + n : 0;
	disk.for_good[call] = for_good;
}

uint64_t disk_count(enum disk_call call)
{
	return disk.counts[call];
}

uint64_t disk_steps(void)
{
	return disk.steps;
}

/* ---- what a cut leaves */

static void leave_file(struct watched *watched, const char *path, uint64_t *seed)
{
	const struct change *changes[4096];
	size_t total = 0;

	remove(path);
	for (const struct change *change = watched->first; change && total < 4096;
		change = change->next)
		changes[total++] = change;
	/* Any order will do. */
	for (size_t i = total; i > 1; i--) {
		size_t j = disk_draw(seed, i);
		const struct change *other = changes[j];
		changes[j] = changes[i - 1];
		changes[i - 1] = other;
	}
	for (size_t i = 0; i < total; i++)
		survive(&watched->synced, changes[i], seed);
	if (!watched->there && (total == 0 || disk_draw(seed, 2)))
		return;
	FILE *file = fopen(path, "wb");
	assert_non_null(file);
	assert_int_equal(
		fwrite(watched->synced.bytes, 1, watched->synced.size, file), watched->synced.size);
	assert_int_equal(fclose(file), 0);
}

void disk_leave(const char *target, uint64_t seed)
{
	static const char *const ends[WATCHED] = {"", "-wal"};
	char path[PATH_SIZE];

	path_beside(path, target, "-shm");
	remove(path);
	seed = seed * 2654435761u + 1;
	for (size_t i = 0; i < WATCHED; i++) {
		path_beside(path, target, ends[i]);
		leave_file(&disk.files[i], path, &seed);
	}
}
