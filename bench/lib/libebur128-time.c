/* Prints the seconds libebur128 takes for integrated loudness, range and true peak of raw interleaved stereo floats
   already in memory. Usage: libebur128-time RATE FILE */
#include <ebur128.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

static double now(void) {
  struct timespec t;
  clock_gettime(CLOCK_MONOTONIC, &t);
  return t.tv_sec + t.tv_nsec * 1e-9;
}

int main(int argc, char **argv) {
  if (argc != 3) return 2;
  FILE *file = fopen(argv[2], "rb");
  if (!file) return 1;
  fseek(file, 0, SEEK_END);
  long bytes = ftell(file);
  rewind(file);
  float *samples = malloc(bytes);
  if (!samples || fread(samples, 1, bytes, file) != (size_t)bytes) return 1;
  size_t frames = bytes / (2 * sizeof(float));

  double start = now();
  ebur128_state *state =
      ebur128_init(2, strtoul(argv[1], NULL, 10), EBUR128_MODE_I | EBUR128_MODE_LRA | EBUR128_MODE_TRUE_PEAK);
  if (!state || ebur128_add_frames_float(state, samples, frames)) return 1;
  double integrated, range, peak;
  ebur128_loudness_global(state, &integrated);
  ebur128_loudness_range(state, &range);
  ebur128_true_peak(state, 0, &peak);
  printf("%.6f\n", now() - start);
  return 0;
}
