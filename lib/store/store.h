/* SPDX-License-Identifier: MIT
 *
 * The database: the evidence. One SQLite file; rows are only ever added. One connection that
 * writes, in one thread (SQLite 3.40.1 has a race between two connections that checkpoint);
 * everybody else opens read-only.
 *
 * Writing functions must stand between store_begin and store_commit; the caller groups them.
 * A failed write leaves the transaction to store_rollback. After STORE_IO or STORE_CORRUPT close,
 * reopen and try again: only what fails then is really damaged.
 */
#ifndef STORE_STORE_H
#define STORE_STORE_H

#include "base/message.h"
#include "measure/reading.h"
#include "measure/scale.h"
#include "measure/sum.h"
#include "result/detail.h"
#include "result/issued.h"
#include "result/outcome.h"
#include "result/press_watch.h"
#include "result/set_terms.h"
#include "result/verification.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum {
	STORE_NAME_SIZE = SPECIMEN_NAME_SIZE,
	STORE_PATH_SIZE = 256,
	STORE_NOTE_SIZE = 256,
	STORE_REASON_SIZE = 256,
	STORE_SEAL_SIZE = 32,       /* BLAKE2b-256 */
	STORE_PUBLIC_KEY_SIZE = 32, /* Ed25519 */
	STORE_SECRET_KEY_SIZE = 64,
	STORE_SIGNATURE_SIZE = 64,
};

enum store_status {
	STORE_OK,
	STORE_NONE,      /* no such row */
	STORE_REFUSED,   /* against a rule of the database: a name twice, a run closed twice */
	STORE_BUSY,      /* somebody else writes */
	STORE_FULL,      /* the disk is full */
	STORE_IO,        /* the disk answered with an error, or is read-only */
	STORE_CORRUPT,   /* the file is damaged */
	STORE_NOT_OURS,  /* a file, but no ramplog database */
	STORE_NEWER,     /* written by a newer ramplog */
	STORE_NOT_FOUND, /* no such file */
};

enum store_mode {
	STORE_READ,
	STORE_WRITE, /* creates the file if there is none, migrates an older one */
};

struct store; /* one connection; used by one thread */

/* Opens path; on failure *store is NULL and why says what, where and what to do. To write, the lock
 * file path-lock is held until store_close or store_let_go: STORE_BUSY where somebody else has it.
 * A connection must not be carried through a fork. */
enum store_status store_open(
	struct store **store, const char *path, enum store_mode mode, struct message *why);
void store_close(struct store *store); /* NULL is fine; checkpoints when it wrote */
/* After STORE_IO or STORE_CORRUPT on a store that writes: closes all files, so that the file system
 * can be unmounted and mended. The key is kept; only store_reopen and store_close may follow. */
void store_let_go(struct store *store);
/* The same, then a fresh connection to the same path, and the lock again. Makes no new file. Where
 * it fails, only these three may follow. */
enum store_status store_reopen(struct store *store, struct message *why);
/* After a commit that failed with anything but STORE_REFUSED, and store_reopen: what it was to
 * write is there all the same, and durable. It must not be written again. */
bool store_came_through(const struct store *store);
/* What the last failed call on this store met, for a person. Valid until the next call. */
const char *store_error(const struct store *store);
const char *store_status_text(enum store_status status);

enum store_status store_begin(struct store *store);
enum store_status store_commit(struct store *store);
void store_rollback(struct store *store);

/* Who does something: from the socket's peer credentials or the process itself, never claimed. */
struct actor {
	uint32_t uid;
	char name[STORE_NAME_SIZE];
};

/* The name that the system has for the uid, "uid 1000" where it has none. */
void store_actor(uint32_t uid, struct actor *actor);

/* Takes the key that signs the seals, from path.key; needed before anything sealed is written.
 * Where the file is missing it is made (readable by its owner only); a key that is not the last one
 * on record is put on record, and changed says so: somebody should know. */
enum store_status store_key_take(
	struct store *store, const struct actor *actor, struct utc_time now, bool *changed);

/* How large the write-ahead log beside the database is, in bytes. SQLite cuts it back by itself,
 * but not past what a reader still needs. */
int64_t store_log_size(const struct store *store);
/* Cuts it back to nothing, if no reader needs it. */
void store_log_cut(struct store *store);
/* What is left on its disk, in bytes. */
int64_t store_disk_free(const struct store *store);
/* The other processes that hold a snapshot now, for a person: "process 4711 (sqlite3)"; "" none. */
void store_log_readers(const struct store *store, char *readers, size_t size);

/* ---- specimens and what sits in the press */

/* STORE_REFUSED where the id exists already. */
enum store_status store_specimen_add(struct store *store, const struct specimen *specimen,
	const struct actor *actor, struct utc_time now);
/* As corrected last. */
enum store_status store_specimen_find(
	struct store *store, const char *id, struct specimen *specimen);

/* What was measured beside the dimensions. reason: "" with the specimen; else why it is corrected,
 * and both rows stay. */
enum store_status store_detail_add(struct store *store, const char *specimen_id,
	const struct detail *detail, const char *reason, const struct actor *actor,
	struct utc_time now);
/* The newest. STORE_NONE: there is none; detail is then as detail_init leaves it. */
enum store_status store_detail_find(
	struct store *store, const char *specimen_id, struct detail *detail);
/* How many runs those pads were in. */
enum store_status store_pad_uses(struct store *store, const char *pad, int *uses);

/* Whether specimen and detail may be entered as they are, by the rules of the method; what is to be
 * noted comes out as flags. reason: "" to register; else to correct what is registered. */
enum store_status store_register_check(struct store *store, const struct specimen *specimen,
	const struct detail *detail, const char *reason, struct detail_flags *flags);
/* Checks, then adds or corrects both. A correction without details leaves those that there are. */
enum store_status store_register(struct store *store, const struct specimen *specimen,
	const struct detail *detail, const char *reason, const struct actor *actor,
	struct utc_time now, struct detail_flags *flags);

struct due_row {
	struct specimen specimen;
	int64_t intended_age_ns;
};

typedef bool store_due_take(void *context, const struct due_row *row); /* false: stop */

/* Every specimen with an hour of casting and an intended age that was not tested yet, with its data
 * as corrected, by when it was due as registered. */
enum store_status store_due_each(struct store *store, store_due_take *take, void *context);

/* This specimen is the next in that press; replaces an earlier one that has not been used.
 * STORE_NONE where it is not registered. */
enum store_status store_seat(struct store *store, const char *press, const char *specimen_id,
	const struct actor *actor, struct utc_time now);
/* The specimen seated in the press and not yet taken by a run; STORE_NONE if there is none. */
enum store_status store_seated(struct store *store, const char *press, struct specimen *specimen);

/* ---- sets */

/* The newest terms hold; earlier ones stay. */
enum store_status store_terms_add(struct store *store, const struct set_terms *terms,
	const struct actor *actor, struct utc_time now);
/* STORE_NONE: none were entered; terms then names the set and nothing else. */
enum store_status store_terms_find(struct store *store, const char *set, struct set_terms *terms);

typedef bool store_terms_take(void *context, const struct set_terms *terms); /* false: stop */

/* The sets whose newest terms are of that series. */
enum store_status store_series_each(
	struct store *store, const char *series, store_terms_take *take, void *context);

/* ---- test methods */

struct method_confirmation {
	char edition[STORE_NAME_SIZE]; /* of the standard with which the text was compared */
	char note[STORE_NOTE_SIZE];
	struct actor by;
	struct utc_time at;
};

/* Somebody compared the method, text by text, with the laboratory's own copy of the standard. */
enum store_status store_method_confirm(struct store *store, const struct method *method,
	const char *edition, const char *note, const struct actor *actor, struct utc_time now);
/* The newest confirmation of this very text; STORE_NONE: not confirmed by the laboratory. */
enum store_status store_method_confirmed(
	struct store *store, const struct method *method, struct method_confirmation *confirmation);

/* ---- the press itself: verification, upkeep, zero */

/* Judged by verification_judge; its number comes out. Passed or not, it is kept. */
enum store_status store_verification_add(struct store *store, struct verification *verification,
	const struct actor *actor, struct utc_time now);
/* What holds for the press at that time, from everything recorded by now that had happened by then.
 */
enum store_status store_standing(
	struct store *store, const char *press, struct utc_time at, struct standing *standing);

/* happened: when; not later than now. */
enum store_status store_upkeep_add(struct store *store, const char *press, enum upkeep upkeep,
	const char *note, struct utc_time happened, const struct actor *actor, struct utc_time now);
/* When ball and socket were last cared for; ns 0: never, as far as is recorded. */
enum store_status store_care_last(struct store *store, const char *press, struct utc_time *last);

/* A software zero of one cell: its scale as it is from now on, and what it subtracted before. */
struct zero_entry {
	char press[STORE_NAME_SIZE];
	char cell[STORE_NAME_SIZE];
	struct scale scale;
	int64_t before_un;
};

enum store_status store_zero_add(struct store *store, const struct zero_entry *entry,
	const char *note, const struct actor *actor, struct utc_time now);
/* The newest zero of the cell; STORE_NONE: none was ever set. */
enum store_status store_zero_last(
	struct store *store, const char *press, const char *cell, struct zero_entry *entry);

/* ---- a run being written */

struct run_cell {
	char name[STORE_NAME_SIZE];
	char device[STORE_PATH_SIZE];
	char decoder[STORE_NAME_SIZE];
	struct scale scale;
};

struct run_start {
	char press[STORE_NAME_SIZE];
	char method[SPECIMEN_METHOD_SIZE];
	/* by which it is judged; its text is kept with the run. Lasts as long as the program; NULL
	 * in a run whose text cannot be read. */
	const struct method *judged_by;
	bool has_specimen;
	struct specimen specimen; /* as used */
	struct plan plan;         /* as judged, policy included */
	int64_t capacity_un;
	struct press_watch_plan watch; /* what the press is watched for */
	struct standing standing;      /* of the press's verification, by store_standing */
	size_t cell_count;
	struct run_cell cells[SUM_CELLS_MAX];
	struct utc_time started;       /* wall clock at origin */
	struct mono_time origin;       /* monotonic time of the first reading kept */
	char boot_id[40];              /* which boot the monotonic times belong to; "" unknown */
	char program[STORE_NAME_SIZE]; /* "ramplogd 0.1.0" */
};

/* Adds the run, marks the seated specimen as taken, gives the run's number (1, 2, 3 ...). */
enum store_status store_run_open(struct store *store, const struct run_start *start, int64_t *run);
/* Appends readings of one cell, times not decreasing. The store keeps its own chunks; what was
 * appended and committed survives a kill, whatever the chunk size. */
enum store_status store_readings_add(struct store *store, int64_t run, size_t cell,
	const struct reading *readings, size_t count);
/* Adds outcome and events, seals the run, all in the caller's transaction. ended: wall clock. */
enum store_status store_run_close(
	struct store *store, int64_t run, const struct outcome *outcome, struct utc_time ended);
/* Runs that were opened and never closed (a crash): fills up to max numbers, gives the count. */
enum store_status store_runs_unclosed(
	struct store *store, int64_t *runs, size_t max, size_t *count);
/* What the technician saw, types 1 to 6. Again for the same run: a correction, a new row; both
 * stay. STORE_NONE: no such run; STORE_REFUSED: it is not over yet, or there is no such type. */
enum store_status store_fracture_add(struct store *store, int64_t run, int type, const char *note,
	const struct actor *actor, struct utc_time now);
/* The same with where a beam cracked, see fracture.h; 0: not measured. STORE_REFUSED also where the
 * run's method has no such type. */
enum store_status store_fracture_crack_add(struct store *store, int64_t run, int type,
	int64_t crack_um, const char *note, const struct actor *actor, struct utc_time now);

/* ---- corrections: new rows that say who, when and why; what they correct stays and shows.
 * STORE_REFUSED without a reason, and where nothing would change. */

/* Other data for the specimen that is registered as specimen->id. Every run that counts for it is
 * judged again with them, and that outcome is kept beside the first one. STORE_REFUSED while such a
 * run is not over. */
enum store_status store_specimen_correct(struct store *store, const struct specimen *specimen,
	const char *reason, const struct actor *actor, struct utc_time now);
/* The run was of another specimen, or of one where none was seated. */
enum store_status store_run_assign(struct store *store, int64_t run, const char *specimen_id,
	const char *reason, const struct actor *actor, struct utc_time now);
/* The run does not count (voided), or counts again. */
enum store_status store_run_void(struct store *store, int64_t run, bool voided, const char *reason,
	const struct actor *actor, struct utc_time now);

/* Readings, or whole loadings, that could not be kept. */
struct loss {
	char press[STORE_NAME_SIZE];
	struct utc_time from, to;
	int64_t reading_count;
	int64_t loading_count;
	char reason[STORE_REASON_SIZE];
};

enum store_status store_loss_add(struct store *store, const struct loss *loss);

/* ---- reading */

struct run_row {
	int64_t run;
	char press[STORE_NAME_SIZE];
	char specimen[STORE_NAME_SIZE]; /* "" none */
	char set[STORE_NAME_SIZE];
	char method[SPECIMEN_METHOD_SIZE];
	struct utc_time started;
	bool closed; /* the fields below are only valid then */
	enum end end;
	int64_t maximum_un;
	double strength_pa;
	char strength_reported[OUTCOME_REPORTED_SIZE];
	enum verdict verdict;
	int64_t sample_count; /* as judged; -1: not counted, by a program of version 1 */
	bool corrected;       /* judged again with other data of the specimen, or of another: */
	char specimen_corrected[STORE_NAME_SIZE];
	char set_corrected[STORE_NAME_SIZE];
	double strength_corrected_pa;
	char strength_corrected[OUTCOME_REPORTED_SIZE];
	enum verdict verdict_corrected;
	/* the fields below always */
	int64_t reading_count; /* stored, all cells */
	int fracture;          /* newest entry, 1 to 6; 0: none yet, the run is not complete */
	bool voided;
	int64_t correction_count; /* of any kind */
	struct standing standing; /* of the press's verification when the run began */
};

enum run_sort { SORT_RUN, SORT_STARTED, SORT_MAXIMUM, SORT_STRENGTH };

struct run_filter { /* "" / 0 / VERDICT_NONE: no condition */
	char press[STORE_NAME_SIZE];
	/* as seated, or as corrected */
	char specimen[STORE_NAME_SIZE];
	char set[STORE_NAME_SIZE];
	struct utc_time from, before;
	enum verdict verdict;
	int64_t after_run; /* runs with a number above this one */
	size_t limit;      /* 0: all */
	bool newest_first; /* or, sorted by something else, the largest */
	enum run_sort sort;
};

typedef bool store_row_take(void *context, const struct run_row *row); /* false: stop */

enum store_status store_runs_each(
	struct store *store, const struct run_filter *filter, store_row_take *take, void *context);

/* How the stress rate of a closed run lay in its band, for many runs at once. */
struct rate_row {
	char press[STORE_NAME_SIZE];
	char set[STORE_NAME_SIZE];        /* "" none */
	char technician[STORE_NAME_SIZE]; /* who entered the fracture that holds; "" nobody yet */
	struct utc_time started;
	bool voided;
	enum end end;
	double strength_pa;
	enum verdict verdict;
	double band_low_pa_s, band_high_pa_s;
	double mean_pa_s, lowest_pa_s, highest_pa_s;
	int64_t window_ns; /* 0: there was nothing to judge */
};

typedef bool store_rate_take(void *context, const struct rate_row *row); /* false: stop */

enum store_status store_rates_each(
	struct store *store, const struct run_filter *filter, store_rate_take *take, void *context);

struct fracture_row {
	int type;
	int64_t crack_um; /* 0: not measured */
	char note[STORE_NOTE_SIZE];
	struct actor by;
	struct utc_time at;
};

enum correction_kind {
	CORRECTION_SPECIMEN, /* another specimen, or other data of it */
	CORRECTION_VOID,
	CORRECTION_VALID, /* counts again */
};

struct correction {
	int64_t number;
	enum correction_kind kind;
	char reason[STORE_REASON_SIZE];
	struct actor by;
	struct utc_time at;
	/* of CORRECTION_SPECIMEN */
	struct specimen specimen;
	struct outcome outcome; /* without events */
};

struct run_record {
	struct run_row row;
	struct run_start start;
	struct outcome outcome; /* only where row.closed */
	struct utc_time ended;
	struct fracture_row fracture; /* newest; type 0: none */
	unsigned char seal[STORE_SEAL_SIZE];
};

enum store_status store_run_load(struct store *store, int64_t run, struct run_record *record);

/* What ties a closed run to those before it, and the key by which others can check it. */
struct run_seal {
	int64_t number; /* of the seal */
	int version;
	unsigned char previous[STORE_SEAL_SIZE]; /* hash of the seal before it */
	unsigned char hash[STORE_SEAL_SIZE];
	unsigned char signature[STORE_SIGNATURE_SIZE];
	bool is_signed; /* false: older than the press's first key */
	int64_t key;    /* its number on record */
	unsigned char public_key[STORE_PUBLIC_KEY_SIZE];
};

/* STORE_NONE: the run is not sealed. */
enum store_status store_run_seal(struct store *store, int64_t run, struct run_seal *seal);

typedef void store_sealed_take(void *context, const char *part, const void *bytes, size_t size);

/* The very bytes that the run's seal covers, as the rows give them now, piece by piece, part after
 * part; last the part "seal", whose hash is signed. STORE_NONE: the run is not sealed. */
enum store_status store_run_sealed(
	struct store *store, int64_t run, store_sealed_take *take, void *context);

typedef bool store_fracture_take(void *context, const struct fracture_row *row); /* false: stop */

/* Every fracture entry of the run, in the order they were made: the last one holds. */
enum store_status store_fractures_each(
	struct store *store, int64_t run, store_fracture_take *take, void *context);

struct recorded { /* who typed it, and when */
	struct actor by;
	struct utc_time at;
};

typedef bool store_id_take(void *context, const char *id); /* false: stop */

/* The specimens registered at this time or later, the last one first. */
enum store_status store_registered_each(
	struct store *store, struct utc_time from, store_id_take *take, void *context);

/* Who registered the specimen; STORE_NONE: it is not registered. */
enum store_status store_specimen_recorded(
	struct store *store, const char *id, struct recorded *recorded);

/* false: stop */
typedef bool store_verification_take(
	void *context, const struct verification *verification, const struct recorded *recorded);
typedef bool store_upkeep_take(void *context, enum upkeep upkeep, struct utc_time happened,
	const char *note, const struct recorded *recorded);

/* The press's verifications, the latest first; press "": of all presses. */
enum store_status store_verifications_each(
	struct store *store, const char *press, store_verification_take *take, void *context);
enum store_status store_upkeep_each(
	struct store *store, const char *press, store_upkeep_take *take, void *context);
typedef bool store_correction_take(
	void *context, const struct correction *correction); /* false: stop */

/* Every correction of the run, in the order they were made. */
enum store_status store_corrections_each(
	struct store *store, int64_t run, store_correction_take *take, void *context);
/* "specimen", "void", "valid". Static. */
const char *correction_kind_text(enum correction_kind kind);

/* ---- reports that were given out */

struct issued_row {
	struct issued issued;
	struct recorded recorded;
	int64_t replaced_by; /* 0: it holds */
};

/* Puts it on record. STORE_REFUSED where its number is not the next one, or what it replaces is not
 * there or replaced already. */
enum store_status store_report_add(struct store *store, const struct issued *issued,
	const struct actor *actor, struct utc_time now);
enum store_status store_report_next(struct store *store, int64_t *number);
/* By its number; the newest on that subject; with that hash. STORE_NONE: there is none. */
enum store_status store_report_find(struct store *store, int64_t number, struct issued_row *row);
enum store_status store_report_of(
	struct store *store, bool is_set, const char *subject, struct issued_row *row);
enum store_status store_report_with(struct store *store, const char *hash, struct issued_row *row);

typedef bool store_report_take(void *context, const struct issued_row *row); /* false: stop */

/* By number, without their runs. */
enum store_status store_reports_each(struct store *store, store_report_take *take, void *context);

/* BLAKE2b-256 of a file's bytes, in hexadecimal digits. */
void store_file_hash(const void *bytes, size_t count, char hash[ISSUED_HASH_SIZE]);

typedef bool store_reading_take(void *context, size_t cell, const struct reading *reading);

/* Every stored reading: cell by cell within a chunk, chunks in the order they were written. */
enum store_status store_readings_each(
	struct store *store, int64_t run, store_reading_take *take, void *context);

#endif
