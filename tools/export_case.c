/* SPDX-License-Identifier: MIT
 *
 * The folder is laid out as RFC 8493 has it (BagIt): the payload in data/, a manifest of SHA-256
 * sums that `sha256sum -c` checks, in twenty years as well as today. A richer description (linked
 * data about the files) would need vocabularies that somebody has to go on serving; a README in
 * plain words does not.
 *
 * With each run lie the bytes that its seal covers: who has them, the public key and any BLAKE2b
 * and Ed25519 can check the seal. No clock is asked: the same record gives the same folder.
 */
#include "export_case.h"

#include "commands.h"
#include "export_curve.h"
#include "output.h"
#include "results.h"
#include "stored.h"
#include "wire/outcome_json.h"

#include <errno.h>
#include <ftw.h>
#include <inttypes.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

enum { CASE_PATH_SIZE = 4096, CASE_KEYS_MAX = 64 };

/* A file while it is made; they are small enough to be made in memory. */
struct memory {
	FILE *file;
	char *bytes;
	size_t size;
};

struct folder {
	const char *command, *database;
	struct store *store;
	char part[CASE_PATH_SIZE - 300]; /* made here, renamed when it is whole */
	struct memory manifest;
	size_t byte_count, file_count;
	int64_t keys[CASE_KEYS_MAX]; /* whose public half is in the folder */
	size_t key_count;
	char directory[40]; /* of the run at work: "run-12" */
};

static FILE *begin_file(struct memory *memory)
{
	memory->file = open_memstream(&memory->bytes, &memory->size);
	return memory->file;
}

static void finish_file(struct memory *memory)
{
	if (memory->file)
		fclose(memory->file);
	free(memory->bytes);
}

static int cannot(const struct folder *folder, const char *path, int error)
{
	fprintf(stderr, "%s: %s cannot be written: %s\n", folder->command, path, strerror(error));
	return EXIT_CANNOT;
}

static int make_directory(const struct folder *folder, const char *name)
{
	char path[CASE_PATH_SIZE];
	snprintf(path, sizeof(path), "%s%s%.200s", folder->part, name[0] ? "/" : "", name);
	return mkdir(path, 0755) == 0 ? EXIT_DONE : cannot(folder, path, errno);
}

static int write_bytes(
	const struct folder *folder, const char *name, const void *bytes, size_t size)
{
	char path[CASE_PATH_SIZE];
	snprintf(path, sizeof(path), "%s/%.200s", folder->part, name);
	struct output *output = output_open(folder->command, path);
	if (!output)
		return EXIT_CANNOT;
	return output_close(output, output_take(output, bytes, size));
}

static void put_sum(FILE *out, const char *name, const void *bytes, size_t size)
{
	unsigned char hash[crypto_hash_sha256_BYTES];
	char hex[2 * crypto_hash_sha256_BYTES + 1];
	crypto_hash_sha256(hash, bytes, size);
	fprintf(out, "%s  %s\n", sodium_bin2hex(hex, sizeof(hex), hash, sizeof(hash)), name);
}

/* The file as it was made, under data/; takes the memory. */
static int put_file(struct folder *folder, const char *name, struct memory *memory)
{
	char path[300];
	int code = EXIT_CANNOT;
	snprintf(path, sizeof(path), "data/%.200s", name);
	if (memory->file && fflush(memory->file) == 0) {
		code = write_bytes(folder, path, memory->bytes, memory->size);
		put_sum(folder->manifest.file, path, memory->bytes, memory->size);
		folder->byte_count += memory->size;
		folder->file_count++;
	} else {
		cannot(folder, path, ENOMEM);
	}
	finish_file(memory);
	return code;
}

static int put_run_file(struct folder *folder, const char *name, struct memory *memory)
{
	char path[200];
	snprintf(path, sizeof(path), "%s/%.100s", folder->directory, name);
	return put_file(folder, path, memory);
}

/* ---- the files of a run */

static int put_curve(
	struct folder *folder, const struct run_record *record, const struct replay *replay)
{
	struct memory memory = {.file = NULL};
	FILE *out = begin_file(&memory);
	enum store_status status =
		out ? export_curve_put("csv", folder->store, record, replay, out) : STORE_OK;
	if (status == STORE_OK)
		return put_run_file(folder, "curve.csv", &memory);
	finish_file(&memory);
	return stored_failed(folder->command, folder->store, status);
}

struct reading_lines {
	FILE *out;
	const struct run_record *record;
};

static bool put_reading(void *context, size_t cell, const struct reading *reading)
{
	const struct reading_lines *lines = context;
	int64_t origin_ns = lines->record->start.origin.ns;
	char time_s[24], stamp_s[24], value[24];
	int places = reading->value.exponent < 0 ? -reading->value.exponent : 0;
	decimal_text(reading->time.ns - origin_ns, 9, time_s);
	decimal_text(reading->time.ns + reading->moved_ns - origin_ns, 9, stamp_s);
	decimal_text(reading->value.mantissa, places, value);
	fprintf(lines->out, "%s,%s,%s,%s", lines->record->start.cells[cell].name, time_s, stamp_s,
		value);
	if (reading->value.exponent > 0)
		fprintf(lines->out, "e%d", reading->value.exponent);
	fprintf(lines->out, ",%s,%u,%" PRId64 "\n", units_text(reading->unit), reading->status,
		reading->counter);
	return true;
}

static int put_readings(struct folder *folder, const struct run_record *record)
{
	struct memory memory = {.file = NULL};
	struct reading_lines lines = {begin_file(&memory), record};
	if (!lines.out)
		return put_run_file(folder, "readings.csv", &memory);
	fputs("cell,time_s,stamp_s,value,unit,status,counter\n", lines.out);
	enum store_status status =
		store_readings_each(folder->store, record->row.run, put_reading, &lines);
	if (status == STORE_OK)
		return put_run_file(folder, "readings.csv", &memory);
	finish_file(&memory);
	return stored_failed(folder->command, folder->store, status);
}

static int put_result(struct folder *folder, const json_t *result)
{
	struct memory memory = {.file = NULL};
	if (begin_file(&memory)) {
		json_dumpf(result, memory.file, OUTCOME_JSON_FLAGS | JSON_INDENT(2));
		fputc('\n', memory.file);
	}
	return put_run_file(folder, "result.json", &memory);
}

static int put_method(struct folder *folder, const struct method *method)
{
	struct memory memory = {.file = NULL};
	if (!method)
		return EXIT_DONE;
	if (begin_file(&memory))
		fputs(method->text, memory.file);
	return put_run_file(folder, "method.ini", &memory);
}

/* As `ramplog report` writes it; its file is then taken into the manifest. */
static int put_report(struct folder *folder, int64_t run, const char *ending)
{
	char number[24], path[CASE_PATH_SIZE], name[80], command[] = "ramplog report";
	char database_option[] = "--database", output_option[] = "--output";
	snprintf(number, sizeof(number), "%" PRId64, run);
	snprintf(path, sizeof(path), "%s/data/%s/report.%s", folder->part, folder->directory,
		ending);
	char *database = strdup(folder->database);
	char *argv[] = {command, number, database_option, database, output_option, path, NULL};
	int code = database ? report_main(6, argv) : EXIT_CANNOT;
	free(database);
	if (code != EXIT_DONE)
		return code;
	struct memory memory = {.file = NULL};
	FILE *in = fopen(path, "rb");
	if (!in || !begin_file(&memory)) {
		if (in)
			fclose(in);
		return cannot(folder, path, errno);
	}
	for (int byte; (byte = getc(in)) != EOF;)
		putc(byte, memory.file);
	fclose(in);
	snprintf(name, sizeof(name), "report.%s", ending);
	return put_run_file(folder, name, &memory);
}

/* ---- the seal */

static void put_hex(FILE *out, const char *name, const unsigned char *bytes, size_t size)
{
	char hex[2 * STORE_SIGNATURE_SIZE + 1];
	fprintf(out, "%s: %s\n", name, sodium_bin2hex(hex, sizeof(hex), bytes, size));
}

/* The public key as `openssl` reads it: the fixed beginning of RFC 8410, then its 32 bytes. */
static int put_key(struct folder *folder, const struct run_seal *seal)
{
	static const unsigned char beginning[] = {
		0x30, 0x2a, 0x30, 0x05, 0x06, 0x03, 0x2b, 0x65, 0x70, 0x03, 0x21, 0x00};
	unsigned char der[sizeof(beginning) + STORE_PUBLIC_KEY_SIZE];
	char base64[sodium_base64_ENCODED_LEN(sizeof(der), sodium_base64_VARIANT_ORIGINAL)];
	struct memory memory = {.file = NULL};
	char name[40];
	for (size_t i = 0; i < folder->key_count; i++) {
		if (folder->keys[i] == seal->key)
			return EXIT_DONE;
	}
	if (folder->key_count < CASE_KEYS_MAX)
		folder->keys[folder->key_count++] = seal->key;
	memcpy(der, beginning, sizeof(beginning));
	memcpy(der + sizeof(beginning), seal->public_key, STORE_PUBLIC_KEY_SIZE);
	sodium_bin2base64(base64, sizeof(base64), der, sizeof(der), sodium_base64_VARIANT_ORIGINAL);
	if (begin_file(&memory))
		fprintf(memory.file, "-----BEGIN PUBLIC KEY-----\n%s\n-----END PUBLIC KEY-----\n",
			base64);
	snprintf(name, sizeof(name), "key-%" PRId64 ".pem", seal->key);
	return put_file(folder, name, &memory);
}

/* Splits what is sealed into a file a part. */
struct sealed {
	struct folder *folder;
	struct memory memory;
	char part[40];
	int number;
	int code;
};

static void end_part(struct sealed *sealed)
{
	char name[80];
	if (!sealed->part[0])
		return;
	snprintf(name, sizeof(name), "sealed/%02d-%s", sealed->number++, sealed->part);
	if (sealed->code == EXIT_DONE)
		sealed->code = put_run_file(sealed->folder, name, &sealed->memory);
	else
		finish_file(&sealed->memory);
	sealed->memory = (struct memory){.file = NULL};
	sealed->part[0] = '\0';
}

static void take_sealed(void *context, const char *part, const void *bytes, size_t size)
{
	struct sealed *sealed = context;
	if (strcmp(sealed->part, part) != 0) {
		end_part(sealed);
		snprintf(sealed->part, sizeof(sealed->part), "%s", part);
		begin_file(&sealed->memory);
	}
	if (sealed->memory.file)
		fwrite(bytes, 1, size, sealed->memory.file);
}

static int put_bytes(struct folder *folder, const char *name, const void *bytes, size_t size)
{
	struct memory memory = {.file = NULL};
	if (begin_file(&memory))
		fwrite(bytes, 1, size, memory.file);
	return put_run_file(folder, name, &memory);
}

static int put_seal_text(struct folder *folder, int64_t run, const struct run_seal *seal)
{
	struct memory memory = {.file = NULL};
	FILE *out = begin_file(&memory);
	if (out) {
		fprintf(out, "run: %" PRId64 "\nseal: %" PRId64 "\nversion: %d\n", run,
			seal->number, seal->version);
		put_hex(out, "previous", seal->previous, sizeof(seal->previous));
		put_hex(out, "hash", seal->hash, sizeof(seal->hash));
		fprintf(out, "key: %" PRId64 "\n", seal->key);
		if (seal->is_signed) {
			put_hex(out, "public_key", seal->public_key, sizeof(seal->public_key));
			put_hex(out, "signature", seal->signature, sizeof(seal->signature));
		}
	}
	return put_run_file(folder, "seal.txt", &memory);
}

static int put_seal(struct folder *folder, int64_t run)
{
	struct run_seal seal;
	struct sealed sealed = {.folder = folder, .number = 1, .code = EXIT_DONE};
	char directory[80];
	enum store_status status = store_run_seal(folder->store, run, &seal);
	snprintf(directory, sizeof(directory), "data/%s/sealed", folder->directory);
	if (status == STORE_OK)
		sealed.code = make_directory(folder, directory);
	if (status == STORE_OK)
		status = store_run_sealed(folder->store, run, take_sealed, &sealed);
	end_part(&sealed);
	if (status != STORE_OK)
		return stored_failed(folder->command, folder->store, status);
	int code = sealed.code;
	if (code == EXIT_DONE)
		code = put_seal_text(folder, run, &seal);
	if (code == EXIT_DONE && seal.is_signed)
		code = put_bytes(folder, "seal.hash", seal.hash, sizeof(seal.hash));
	if (code == EXIT_DONE && seal.is_signed)
		code = put_bytes(folder, "seal.signature", seal.signature, sizeof(seal.signature));
	return code == EXIT_DONE && seal.is_signed ? put_key(folder, &seal) : code;
}

/* ---- the whole */

static int put_run_files(struct folder *folder, const struct run_record *record,
	const struct replay *replay, FILE *results)
{
	json_t *result = NULL;
	enum store_status status = stored_run_json(folder->store, record, &result);
	int code = status == STORE_OK ? put_result(folder, result)
				      : stored_failed(folder->command, folder->store, status);
	if (code == EXIT_DONE)
		results_put_row(results, result);
	json_decref(result);
	if (code == EXIT_DONE)
		code = put_curve(folder, record, replay);
	if (code == EXIT_DONE)
		code = put_readings(folder, record);
	if (code == EXIT_DONE)
		code = put_method(folder, record->start.judged_by);
	if (code == EXIT_DONE)
		code = put_report(folder, record->row.run, "txt");
	if (code == EXIT_DONE)
		code = put_report(folder, record->row.run, "pdf");
	return code == EXIT_DONE ? put_seal(folder, record->row.run) : code;
}

static int put_run(struct folder *folder, int64_t run, FILE *results)
{
	struct run_record record;
	struct replay replay;
	char directory[80];
	int code = stored_run(folder->command, folder->store, run, &record);
	if (code != EXIT_DONE)
		return code;
	if (!record.row.closed) {
		fprintf(stderr, "%s: run %" PRId64 " is not over: only closed runs have a seal\n",
			folder->command, run);
		return EXIT_NO;
	}
	enum store_status status = replay_run(folder->store, &record, &replay);
	if (status != STORE_OK)
		return stored_failed(folder->command, folder->store, status);
	snprintf(folder->directory, sizeof(folder->directory), "run-%" PRId64, run);
	snprintf(directory, sizeof(directory), "data/%s", folder->directory);
	code = make_directory(folder, directory);
	if (code == EXIT_DONE)
		code = put_run_files(folder, &record, &replay, results);
	replay_finish(&replay);
	return code;
}

static const char readme[] =
	"Loadings of concrete specimens in a compression press, as ramplog recorded them.\n\n"
	"results.csv     one row a run; units stand in the names\n"
	"run-N/          one folder a run:\n"
	"  report.pdf, report.txt   the report, for people\n"
	"  result.json     the outcome, what was entered by hand, every correction with who, when, "
	"why\n"
	"  curve.csv       load over time, as it was judged; corrections stand at its head\n"
	"  readings.csv    every reading as the load cell sent it (value, unit), its time from "
	"the\n"
	"                  first one, when it was stamped, its status (a sum: 1 over range, 2 "
	"under\n"
	"                  range, 4 in motion, 8 marked as wrong, 16 zero, 32 no zero found, 64 "
	"late,\n"
	"                  128 readings lost before it, 256 repeated), the cell's own count\n"
	"  method.ini      the test method by which it was judged\n"
	"  seal.txt        the seal: number, hash of the seal before it, hash, signature\n"
	"  sealed/         the very bytes that it covers, part by part\n"
	"key-N.pem       the press's public key number N\n\n"
	"That nothing here was changed since it was handed out, in the folder above this one:\n\n"
	"    sha256sum -c manifest-sha256.txt\n\n"
	"That nothing was changed since the run was sealed, in its folder:\n\n"
	"    b2sum -l 256 sealed/*\n"
	"    openssl pkeyutl -verify -pubin -inkey ../key-N.pem -rawin -in seal.hash \\\n"
	"        -sigfile seal.signature\n\n"
	"The last line of the first gives the hash in seal.txt, which is also seal.hash; the "
	"hashes\n"
	"above it stand, one after the other, at the end of the last file. The second says\n"
	"\"Signature Verified Successfully\". Compare the public key with the one on a report that "
	"you\n"
	"had from the laboratory before, or that it publishes: whoever makes a key can sign with "
	"it.\n"
	"The seal cannot tell whether the specimen was the one that is named, nor whether the "
	"clock\n"
	"was right. What it can, and how the bytes are laid out, says docs/seal.md of ramplog.\n";

static int put_runs(struct folder *folder, const int64_t *runs, size_t count)
{
	struct memory results = {.file = NULL}, text = {.file = NULL};
	int code = begin_file(&results) ? EXIT_DONE : cannot(folder, folder->part, ENOMEM);
	if (code == EXIT_DONE)
		results_put_head(results.file);
	for (size_t i = 0; i < count && code == EXIT_DONE; i++)
		code = put_run(folder, runs[i], results.file);
	if (code != EXIT_DONE) {
		finish_file(&results);
		return code;
	}
	code = put_file(folder, "results.csv", &results);
	if (code == EXIT_DONE && begin_file(&text))
		fputs(readme, text.file);
	return code == EXIT_DONE ? put_file(folder, "README.txt", &text) : code;
}

/* bagit.txt, bag-info.txt, the manifest, and the sums of these three. */
static int put_tags(struct folder *folder)
{
	static const char bagit[] = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n";
	struct memory tags = {.file = NULL};
	char info[200];
	const struct {
		const char *name, *bytes;
		size_t size;
	} files[] = {
		{"bagit.txt", bagit, sizeof(bagit) - 1},
		{"bag-info.txt", info,
			(size_t)snprintf(info, sizeof(info),
				"Bag-Software-Agent: ramplog " RAMPLOG_VERSION
				"\nPayload-Oxum: %zu.%zu\n",
				folder->byte_count, folder->file_count)},
		{"manifest-sha256.txt", folder->manifest.bytes, folder->manifest.size},
	};
	int code = begin_file(&tags) ? EXIT_DONE : cannot(folder, folder->part, ENOMEM);
	for (size_t i = 0; i < sizeof(files) / sizeof(files[0]) && code == EXIT_DONE; i++) {
		put_sum(tags.file, files[i].name, files[i].bytes, files[i].size);
		code = write_bytes(folder, files[i].name, files[i].bytes, files[i].size);
	}
	if (code == EXIT_DONE && fflush(tags.file) == 0)
		code = write_bytes(folder, "tagmanifest-sha256.txt", tags.bytes, tags.size);
	finish_file(&tags);
	return code;
}

static int remove_entry(const char *path, const struct stat *status, int kind, struct FTW *walk)
{
	(void)status;
	(void)kind;
	(void)walk;
	return remove(path);
}

static int fill_folder(struct folder *folder, const int64_t *runs, size_t count)
{
	int code = make_directory(folder, "");
	if (code == EXIT_DONE)
		code = make_directory(folder, "data");
	if (code == EXIT_DONE && !begin_file(&folder->manifest))
		code = cannot(folder, folder->part, ENOMEM);
	if (code == EXIT_DONE)
		code = put_runs(folder, runs, count);
	if (code == EXIT_DONE && fflush(folder->manifest.file) == 0)
		code = put_tags(folder);
	finish_file(&folder->manifest);
	return code;
}

int export_case(const char *command, const char *database, struct store *store, const int64_t *runs,
	size_t count, const char *path)
{
	struct folder folder = {.command = command, .database = database, .store = store};
	struct stat there;
	int length = snprintf(folder.part, sizeof(folder.part), "%s.part", path);
	if (length < 0 || (size_t)length >= sizeof(folder.part))
		return cannot(&folder, path, ENAMETOOLONG);
	if (lstat(path, &there) == 0)
		return cannot(&folder, path, EEXIST);
	/* Left over from one that was interrupted. */
	nftw(folder.part, remove_entry, 16, FTW_DEPTH | FTW_PHYS);
	int code = fill_folder(&folder, runs, count);
	if (code == EXIT_DONE && rename(folder.part, path) != 0)
		code = cannot(&folder, path, errno);
	if (code != EXIT_DONE)
		nftw(folder.part, remove_entry, 16, FTW_DEPTH | FTW_PHYS);
	return code;
}
