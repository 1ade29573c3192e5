/* SPDX-License-Identifier: MIT
 *
 * The part of the audit that is about seals, and about the file: hashes, links, signatures,
 * anchors, rows that no seal covers, tables and triggers that are not as they were made.
 */
#include "store/audit_inside.h"

#include "store/schema.h"

#include "base/text.h"

#include <inttypes.h>
#include <sodium.h>
#include <stdio.h>
#include <string.h>

enum {
	FILE_FINDINGS_MAX = 50,   /* of each kind; a torn file has thousands */
	PROGRESS_STEPS = 1000000, /* of SQLite's machine between two looks at the clock */
};

void audit_at_run(struct audit *audit, int64_t run)
{
	audit->run = run;
	snprintf(audit->place, sizeof(audit->place), "run %" PRId64, run);
}

void audit_at_file(struct audit *audit)
{
	audit->run = 0;
	snprintf(audit->place, sizeof(audit->place), "the file");
}

static int look_up(void *context)
{
	const struct audit_hooks *hooks = context;

	return hooks->progress && !hooks->progress(hooks->context, 0, 0);
}

void audit_watch(struct audit *audit)
{
	sqlite3_progress_handler(audit->store->db, PROGRESS_STEPS, look_up, (void *)audit->hooks);
}

enum store_status audit_unwatch(struct audit *audit, enum store_status status)
{
	struct audit_summary *summary = audit->summary;

	sqlite3_progress_handler(audit->store->db, 0, NULL, NULL);
	summary->stopped =
		summary->stopped || (status != STORE_OK && look_up((void *)audit->hooks));
	return summary->stopped ? STORE_OK : status;
}

void audit_keep_few_pages(struct store *store)
{
	sqlite3_exec(store->db, "PRAGMA cache_size = -640", NULL, NULL, NULL);
}

/* The run that an entry speaks of; 0: of none, or it is gone. */
static int64_t run_of(struct store *store, const struct seal *seal)
{
	int64_t run = 0;
	struct sql sql;

	if (seal->subject != SEAL_FRACTURE && seal->subject != SEAL_RUN_CORRECTION)
		return 0;
	sql_start(&sql, store,
		seal->subject == SEAL_FRACTURE ? "SELECT run FROM fracture WHERE fracture = ?"
					       : "SELECT run FROM run_correction WHERE number = ?");
	sql_put_integer(&sql, seal->row);
	if (sql_next(&sql))
		run = sql_take_integer(&sql);
	sql_finish(&sql);
	return run;
}

void audit_at_row(struct audit *audit, const struct seal *seal)
{
	if (seal->subject == SEAL_RUN) {
		audit_at_run(audit, seal->row);
		return;
	}
	audit->run = run_of(audit->store, seal);
	int length = snprintf(audit->place, sizeof(audit->place), "%s %" PRId64,
		seal_subject_text(seal->subject), seal->row);
	if (audit->run > 0)
		snprintf(audit->place + length, sizeof(audit->place) - (size_t)length,
			" (run %" PRId64 ")", audit->run);
}

void audit_find(struct audit *audit, enum audit_kind kind, const char *field, const char *stored,
	const char *derived)
{
	struct audit_finding finding = {.kind = kind, .run = audit->run};

	snprintf(finding.place, sizeof(finding.place), "%s", audit->place);
	snprintf(finding.field, sizeof(finding.field), "%s", field);
	snprintf(finding.stored, sizeof(finding.stored), "%s", stored);
	snprintf(finding.derived, sizeof(finding.derived), "%s", derived);
	if (kind == AUDIT_UNCLOSED)
		audit->summary->unclosed_count++;
	else
		audit->summary->difference_count++;
	audit->hooks->take(audit->hooks->context, &finding);
}

enum store_status audit_judge_status(
	struct audit *audit, enum store_status status, const char *field)
{
	if (status != STORE_CORRUPT && status != STORE_REFUSED)
		return status;
	/* The file is known; what is wrong within it is not. */
	const char *text = store_error(audit->store);
	size_t path = strlen(audit->store->path);
	if (strncmp(text, audit->store->path, path) == 0 && text[path] == ':')
		text += path + 2;
	audit_find(audit, AUDIT_MISSING, field, "damaged", text);
	return STORE_OK;
}

static void compare_hash(struct audit *audit, const char *field,
	const unsigned char stored[STORE_SEAL_SIZE], const unsigned char derived[STORE_SEAL_SIZE])
{
	char one[STORE_SEAL_SIZE * 2 + 1], other[STORE_SEAL_SIZE * 2 + 1];

	if (memcmp(stored, derived, STORE_SEAL_SIZE) == 0)
		return;
	sodium_bin2hex(one, sizeof(one), stored, STORE_SEAL_SIZE);
	sodium_bin2hex(other, sizeof(other), derived, STORE_SEAL_SIZE);
	audit_find(audit, AUDIT_SEAL, field, one, other);
}

/* ---- one seal */

static enum store_status check_parts(struct audit *audit, const struct seal *seal)
{
	struct seal now = *seal;
	unsigned char hash[STORE_SEAL_SIZE];
	enum store_status status = seal_parts(audit->store, &now);

	if (status != STORE_OK)
		return audit_judge_status(audit, status, "seal");
	if (now.part_count != seal->part_count) {
		audit_find(audit, AUDIT_SEAL, "seal.parts", "another number of them",
			"as many as its version has");
		return STORE_OK;
	}
	for (size_t i = 0; i < now.part_count; i++)
		compare_hash(audit, seal_part_name(seal, i), seal->parts + i * STORE_SEAL_SIZE,
			now.parts + i * STORE_SEAL_SIZE);
	seal_hash(seal, hash);
	compare_hash(audit, "seal.hash", seal->hash, hash);
	return STORE_OK;
}

static enum store_status check_link(struct audit *audit, const struct seal *seal)
{
	unsigned char hash[STORE_SEAL_SIZE];
	enum store_status status = seal_hash_of(audit->store, seal->number - 1, hash);

	if (status == STORE_NONE) {
		audit_find(audit, AUDIT_SEAL, "seal.previous", "the seal before it", "not there");
		return STORE_OK;
	}
	if (status == STORE_OK)
		compare_hash(audit, "seal.previous", seal->previous, hash);
	return audit_judge_status(audit, status, "seal.previous");
}

static enum store_status check_signature(struct audit *audit, const struct seal *seal)
{
	unsigned char public_key[STORE_PUBLIC_KEY_SIZE];
	int64_t first = audit->extent->first_key_seal;

	if (seal->key == 0) {
		/* The first programs had no key; since there is one, every seal is signed. */
		if (seal->version > 2 || (first > 0 && seal->number > first))
			audit_find(audit, AUDIT_SEAL, "seal.signature", "none", "the press's");
		return STORE_OK;
	}
	if (seal->number < audit->extent->first_signature)
		return STORE_OK;
	enum store_status status = seal_public_key(audit->store, seal->key, public_key);
	if (status == STORE_NONE)
		audit_find(audit, AUDIT_SEAL, "seal.key", "not on record", "a key of signing_key");
	else if (status == STORE_OK && !seal_signature_fits(seal, public_key))
		audit_find(audit, AUDIT_SEAL, "seal.signature", "not made with the press's key",
			"a signature of seal.hash");
	return status == STORE_NONE ? STORE_OK
				    : audit_judge_status(audit, status, "seal.signature");
}

enum store_status audit_seal(struct audit *audit, const struct seal *seal)
{
	enum store_status status = check_parts(audit, seal);

	if (status == STORE_OK)
		status = check_link(audit, seal);
	return status == STORE_OK ? check_signature(audit, seal) : status;
}

/* ---- the chain */

enum store_status audit_begin(struct store *store, struct audit_extent *extent)
{
	enum store_status status =
		sql_integer(store, "SELECT ifnull(max(run), 0) FROM run", &extent->newest_run);

	if (status == STORE_OK)
		status = sql_integer(
			store, "SELECT ifnull(max(seal), 0) FROM seal", &extent->newest_seal);
	if (status == STORE_OK)
		status = sql_integer(store,
			"SELECT ifnull((SELECT seal FROM seal WHERE subject = 'signing_key'"
			" AND number = 1), 0)",
			&extent->first_key_seal);
	extent->first_signature = 0;
	if (extent->newest_run < 0)
		extent->newest_run = 0;
	return status;
}

/* The seals of runs are looked at with their runs, unless all is asked for. */
static enum store_status check_one(struct audit *audit, int64_t number, bool all)
{
	struct seal seal;
	enum store_status status = seal_at(audit->store, number, &seal);

	audit_at_file(audit);
	snprintf(audit->place, sizeof(audit->place), "seal %" PRId64, number);
	if (status != STORE_OK)
		return audit_judge_status(audit, status, "seal");
	if (seal.subject == SEAL_RUN && !all)
		return STORE_OK;
	audit->summary->entry_count += seal.subject != SEAL_RUN;
	audit_at_row(audit, &seal);
	return audit_seal(audit, &seal);
}

/* The first seal from `from` on that is there; last + 1: none up to last. */
static enum store_status next_seal(struct store *store, int64_t from, int64_t last, int64_t *there)
{
	struct sql sql;

	sql_start(&sql, store,
		"SELECT ifnull(min(seal), ?2 + 1) FROM seal WHERE seal BETWEEN ?1 AND ?2");
	sql_put_integer(&sql, from);
	sql_put_integer(&sql, last);
	if (sql_next(&sql))
		*there = sql_take_integer(&sql);
	return sql_finish(&sql);
}

static void find_hole(struct audit *audit, int64_t first, int64_t last)
{
	char text[64];

	audit_at_file(audit);
	snprintf(audit->place, sizeof(audit->place), "seal %" PRId64, first);
	snprintf(text, sizeof(text), "seals %" PRId64 " to %" PRId64, first, last);
	audit_find(audit, AUDIT_MISSING, "seal", "not there",
		first == last ? "a seal, as of every number" : text);
}

static enum store_status check_seals(struct audit *audit, int64_t first, int64_t last, bool all)
{
	const struct audit_hooks *hooks = audit->hooks;
	enum store_status status = STORE_OK;

	audit_watch(audit);
	for (int64_t number = first; number <= last && status == STORE_OK; number++) {
		int64_t there = number;
		status = next_seal(audit->store, number, last, &there);
		if (status == STORE_OK && there > number)
			find_hole(audit, number, there - 1);
		number = there;
		if (status == STORE_OK && there <= last)
			status = check_one(audit, there, all);
		audit->summary->stopped = hooks->progress && !hooks->progress(hooks->context, 0, 0);
		if (audit->summary->stopped)
			break;
	}
	return audit_unwatch(audit, status);
}

enum store_status audit_some_seals(struct store *store, const struct audit_extent *extent,
	int64_t first, int64_t last, const struct audit_hooks *hooks, struct audit_summary *summary)
{
	struct audit audit = {.store = store, .extent = extent, .hooks = hooks, .summary = summary};

	return check_seals(&audit, first, last, false);
}

enum store_status audit_every_seal(struct store *store, const struct audit_extent *extent,
	const struct audit_hooks *hooks, struct audit_summary *summary)
{
	struct audit audit = {.store = store, .extent = extent, .hooks = hooks, .summary = summary};

	return check_seals(&audit, 1, extent->newest_seal, true);
}

/* ---- the file */

/* Every row of the statement is a finding: its first column is the field, its second what is there,
 * its third what should be. */
static enum store_status find_rows(struct audit *audit, enum audit_kind kind, const char *text)
{
	char field[200], stored[200], derived[200];
	struct sql sql;

	sql_start(&sql, audit->store, text);
	for (size_t i = 0; sql_next(&sql); i++) {
		if (i == FILE_FINDINGS_MAX) {
			audit_find(audit, kind, "more of them", "not listed", "none");
			break;
		}
		sql_take_text(&sql, field, sizeof(field));
		sql_take_text(&sql, stored, sizeof(stored));
		sql_take_text(&sql, derived, sizeof(derived));
		if (sql.status == STORE_OK)
			audit_find(audit, kind, field, stored, derived);
	}
	return audit_judge_status(audit, sql_finish(&sql), "file");
}

static enum store_status check_pages(struct audit *audit)
{
	return find_rows(audit, AUDIT_FILE,
		"SELECT 'integrity', substr(integrity_check, 1, 150), 'ok'"
		" FROM pragma_integrity_check(51) WHERE integrity_check <> 'ok'");
}

/* All references but those of the readings in closed runs, which would be one more walk through
 * nearly the whole file: their seals hold chunks and cells, and a replay knows no other cell. */
static enum store_status check_references(struct audit *audit)
{
	enum store_status status = find_rows(audit, AUDIT_FILE,
		"SELECT \"table\", 'row ' || ifnull(c.rowid, '?') || ' belongs to no ' || parent,"
		" 'the row that it refers to' FROM sqlite_schema AS s,"
		" pragma_foreign_key_check(s.name) AS c WHERE s.type = 'table' AND s.name <> "
		"'chunk'");

	if (status != STORE_OK)
		return status;
	return find_rows(audit, AUDIT_FILE,
		"SELECT 'chunk', 'row ' || number || ' belongs to no run_cell',"
		" 'the row that it refers to' FROM (SELECT DISTINCT run FROM chunk) JOIN chunk"
		" USING (run) WHERE run NOT IN (SELECT run FROM run_outcome) AND NOT EXISTS"
		" (SELECT 1 FROM run_cell WHERE run_cell.run = chunk.run"
		"  AND run_cell.cell = chunk.cell)");
}

/* Rows of a table that is sealed row by row. */
static enum store_status check_sealed(
	struct audit *audit, enum seal_subject subject, const char *key)
{
	const char *table = seal_subject_text(subject);
	char buffer[SQL_TEXT_SIZE];
	struct text text;

	text_init(&text, buffer, sizeof(buffer));
	text_format(&text,
		"SELECT '%s ' || %s, 'not sealed', 'a seal, as of every row' FROM %s WHERE"
		" NOT EXISTS (SELECT 1 FROM seal WHERE subject = '%s' AND number = %s.%s)",
		table, key, table, table, table, key);
	return find_rows(audit, AUDIT_SEAL, buffer);
}

static enum store_status check_rows(struct audit *audit)
{
	static const char *const keys[SEAL_SUBJECTS] = {
		[SEAL_SPECIMEN] = "number",
		[SEAL_SEAT] = "seat",
		[SEAL_FRACTURE] = "fracture",
		[SEAL_SPECIMEN_CORRECTION] = "correction",
		[SEAL_RUN_CORRECTION] = "number",
		[SEAL_KEY] = "key",
		[SEAL_LOSS] = "loss",
		[SEAL_VERIFICATION] = "verification",
		[SEAL_UPKEEP] = "upkeep",
		[SEAL_ZERO] = "zero",
		[SEAL_CONFIRMATION] = "confirmation",
		[SEAL_DETAIL] = "number",
		[SEAL_TERMS] = "terms",
		[SEAL_REPORT] = "report",
	};
	enum store_status status = STORE_OK;

	/* Before the first key only runs were sealed. */
	for (size_t i = 0; i < SEAL_SUBJECTS && status == STORE_OK; i++) {
		if (keys[i] && audit->extent->first_key_seal > 0)
			status = check_sealed(audit, (enum seal_subject)i, keys[i]);
	}
	if (status == STORE_OK)
		status = find_rows(audit, AUDIT_FILE,
			"SELECT 'policy ' || policy, 'of no run', 'a run that it was made for' FROM"
			" (SELECT policy FROM policy UNION SELECT policy FROM policy_value)"
			" WHERE policy NOT IN (SELECT policy FROM run)");
	return status;
}

/* The tables as this program makes them, in a database of its own. */
static enum store_status make_pattern(struct audit *audit)
{
	struct store *store = audit->store;
	struct store pattern = {.mode = STORE_WRITE, .lock = -1, .path = "the pattern"};
	int answer = sqlite3_open_v2(
		":memory:", &pattern.db, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, NULL);
	enum store_status status = answer == SQLITE_OK ? schema_migrate(&pattern, 0)
						       : sql_fail(&pattern, answer, "opening");
	struct sql pieces;

	if (status != STORE_OK) {
		sqlite3_close_v2(pattern.db);
		return sql_error(store, STORE_IO, "%s", pattern.error.text);
	}
	sql_start(&pieces, &pattern,
		"SELECT type || ' ' || name, ifnull(sql, '') FROM sqlite_schema");
	while (status == STORE_OK && sql_next(&pieces)) {
		char name[STORE_NAME_SIZE * 2], text[8192];
		sql_take_text(&pieces, name, sizeof(name));
		sql_take_text(&pieces, text, sizeof(text));
		struct sql sql;
		sql_start(&sql, store, "INSERT INTO temp.pattern VALUES (?, ?)");
		sql_put_text(&sql, name);
		sql_put_text(&sql, text);
		status = sql_finish(&sql);
	}
	if (status == STORE_OK)
		status = sql_finish(&pieces);
	sql_forget(&pattern);
	sqlite3_close_v2(pattern.db);
	return status;
}

static enum store_status compare_tables(struct audit *audit)
{
	enum store_status status = sql_run(audit->store,
		"PRAGMA query_only = OFF;"
		"CREATE TEMP TABLE IF NOT EXISTS pattern (name TEXT PRIMARY KEY, sql TEXT);"
		"DELETE FROM temp.pattern");

	if (status == STORE_OK)
		status = make_pattern(audit);
	if (status == STORE_OK && audit->store->mode == STORE_READ)
		status = sql_run(audit->store, "PRAGMA query_only = ON");
	if (status != STORE_OK)
		return status;
	/* The names that are there are put together once, not once for each that should be. */
	return find_rows(audit, AUDIT_FILE,
		"WITH present AS MATERIALIZED (SELECT type || ' ' || name AS name,"
		" ifnull(sql, '') AS sql FROM main.sqlite_schema) "
		"SELECT name, CASE WHEN there IS NULL THEN 'not there' ELSE 'not as it was made' "
		"END,"
		" CASE WHEN made IS NULL THEN 'nothing of that name' ELSE 'as this program makes "
		"it'"
		" END FROM (SELECT p.name, p.sql AS made, s.sql AS there FROM temp.pattern AS p"
		"  LEFT JOIN present AS s ON s.name = p.name"
		" UNION ALL SELECT type || ' ' || name, NULL, sql FROM main.sqlite_schema"
		"  WHERE type || ' ' || name NOT IN (SELECT name FROM temp.pattern)"
		"  AND name NOT LIKE 'sqlite_stat%')"
		" WHERE made IS NOT there");
}

/* Nearly always they are as they were made. */
static enum store_status check_tables(struct audit *audit)
{
	bool as_made;
	enum store_status status = schema_is_as_made(audit->store, &as_made);

	if (status != STORE_OK)
		return audit_judge_status(audit, status, "file");
	return as_made ? STORE_OK : compare_tables(audit);
}

static enum store_status check_file(
	struct audit *audit, enum store_status (*const *checks)(struct audit *), size_t count)
{
	enum store_status status = STORE_OK;

	audit_keep_few_pages(audit->store);
	audit_at_file(audit);
	audit_watch(audit);
	for (size_t i = 0; i < count && status == STORE_OK; i++)
		status = checks[i](audit);
	return audit_unwatch(audit, status);
}

enum store_status audit_pages(
	struct store *store, const struct audit_hooks *hooks, struct audit_summary *summary)
{
	static enum store_status (*const CHECKS[])(struct audit *) = {check_pages};
	struct audit audit = {.store = store, .hooks = hooks, .summary = summary};

	return check_file(&audit, CHECKS, sizeof(CHECKS) / sizeof(CHECKS[0]));
}

enum store_status audit_file(struct store *store, const struct audit_extent *extent,
	const struct audit_hooks *hooks, struct audit_summary *summary)
{
	static enum store_status (*const CHECKS[])(struct audit *) = {
		check_tables, check_references, check_rows};
	struct audit audit = {.store = store, .extent = extent, .hooks = hooks, .summary = summary};

	return check_file(&audit, CHECKS, sizeof(CHECKS) / sizeof(CHECKS[0]));
}

/* ---- anchors */

enum store_status audit_anchor_newest(
	struct store *store, struct audit_anchor *anchor, int64_t *run_count)
{
	struct seal seal;
	enum store_status status = seal_at(store, 0, &seal);

	anchor->seal = seal.number;
	memcpy(anchor->hash, seal.hash, sizeof(anchor->hash));
	*run_count = seal.run_count;
	return status;
}

void audit_anchor_text(const struct audit_anchor *anchor, char text[AUDIT_ANCHOR_SIZE])
{
	int length = snprintf(text, AUDIT_ANCHOR_SIZE, "%" PRId64 ":", anchor->seal);

	sodium_bin2hex(text + length, AUDIT_ANCHOR_SIZE - (size_t)length, anchor->hash,
		sizeof(anchor->hash));
}

bool audit_anchor_parse(const char *text, struct audit_anchor *anchor)
{
	size_t digits = strspn(text, "0123456789"), size = 0;
	const char *end = NULL;

	*anchor = (struct audit_anchor){.seal = 0};
	if (digits == 0 || digits > 18 || text[digits] != ':')
		return false;
	for (size_t i = 0; i < digits; i++)
		anchor->seal = anchor->seal * 10 + (text[i] - '0');
	const char *hex = text + digits + 1;
	bool ok = sodium_hex2bin(anchor->hash, sizeof(anchor->hash), hex, strlen(hex), " -\t\n",
			  &size, &end) == 0;
	return ok && size == sizeof(anchor->hash) && *end == '\0' && anchor->seal > 0;
}

enum store_status audit_anchor_check(struct store *store, const struct audit_anchor *anchor,
	const struct audit_hooks *hooks, struct audit_summary *summary)
{
	struct audit audit = {.store = store, .hooks = hooks, .summary = summary};
	unsigned char hash[STORE_SEAL_SIZE];
	enum store_status status = seal_hash_of(store, anchor->seal, hash);

	audit_at_file(&audit);
	snprintf(audit.place, sizeof(audit.place), "seal %" PRId64, anchor->seal);
	if (status == STORE_NONE) {
		audit_find(&audit, AUDIT_MISSING, "anchor", "no such seal",
			"the one that was written out");
		return STORE_OK;
	}
	if (status == STORE_OK)
		compare_hash(&audit, "anchor", hash, anchor->hash);
	return audit_judge_status(&audit, status, "anchor");
}
