/* SPDX-License-Identifier: MIT
 *
 * Runs while the project is built: `embed OUTPUT FILE...` writes the files as the C source of
 * result/method_files.h.
 */
#include <stdio.h>
#include <string.h>

static int put_bytes(FILE *out, const char *path, int index)
{
	FILE *in = fopen(path, "rb");
	int byte, count = 0;

	if (!in)
		return -1;
	fprintf(out, "static const char text_%d[] = {", index);
	for (; (byte = getc(in)) != EOF; count++)
		fprintf(out, "%s%d,", count % 20 == 0 ? "\n\t" : " ",
			byte < 128 ? byte : byte - 256);
	fprintf(out, "\n\t0};\n\n");
	fclose(in);
	return count;
}

int main(int argc, char **argv)
{
	FILE *out = argc > 1 ? fopen(argv[1], "w") : NULL;

	if (!out)
		return 1;
	fprintf(out, "/* SPDX-License-Identifier: MIT */\n#include \"result/method_files.h\"\n\n");
	for (int i = 2; i < argc; i++) {
		if (put_bytes(out, argv[i], i) <= 0) {
			fprintf(stderr, "%s: cannot be read\n", argv[i]);
			return 1;
		}
	}
	fprintf(out, "const struct method_file method_files[] = {\n");
	for (int i = 2; i < argc; i++) {
		const char *slash = strrchr(argv[i], '/');

		fprintf(out, "\t{\"%s\", text_%d, sizeof text_%d - 1},\n",
			slash ? slash + 1 : argv[i], i, i);
	}
	fprintf(out, "\t{NULL, NULL, 0},\n};\n");
	return fclose(out) == 0 ? 0 : 1;
}
