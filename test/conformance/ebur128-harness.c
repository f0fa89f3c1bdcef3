/* Prints what libebur128 measures of raw interleaved 32-bit floats: one JSON object.
   Usage: harness RATE CHANNELS FILE. Compiled by loudness-outside.test.ts. */
#include <ebur128.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static void figure(const char *name, double value, const char *end) {
  if (isfinite(value)) printf("\"%s\": %.6f%s", name, value, end);
  else printf("\"%s\": null%s", name, end);
}

int main(int argc, char **argv) {
  if (argc != 4) return 2;
  unsigned long rate = strtoul(argv[1], NULL, 10);
  unsigned channels = (unsigned)strtoul(argv[2], NULL, 10);
  FILE *file = fopen(argv[3], "rb");
  ebur128_state *state = ebur128_init(
      channels, rate, EBUR128_MODE_M | EBUR128_MODE_S | EBUR128_MODE_I | EBUR128_MODE_LRA | EBUR128_MODE_TRUE_PEAK);
  if (!file || !state) return 1;

  /* 20 ms at a time, the grid on which maxima are taken. */
  size_t tick = rate / 50, read;
  float *block = malloc(tick * channels * sizeof(float));
  double momentary = -INFINITY, short_term = -INFINITY, value;
  unsigned long ticks = 0;
  while ((read = fread(block, channels * sizeof(float), tick, file)) > 0) {
    if (ebur128_add_frames_float(state, block, read)) return 1;
    ticks++;
    if (ticks >= 20 && read == tick && !ebur128_loudness_momentary(state, &value) && value > momentary)
      momentary = value;
    if (ticks >= 150 && ticks % 5 == 0 && read == tick && !ebur128_loudness_shortterm(state, &value) &&
        value > short_term)
      short_term = value;
  }

  double integrated, range, true_peak = 0, sample_peak = 0;
  ebur128_loudness_global(state, &integrated);
  ebur128_loudness_range(state, &range);
  for (unsigned c = 0; c < channels; c++) {
    ebur128_true_peak(state, c, &value);
    if (value > true_peak) true_peak = value;
    ebur128_sample_peak(state, c, &value);
    if (value > sample_peak) sample_peak = value;
  }
  printf("{");
  figure("integratedLufs", integrated, ", ");
  figure("rangeLu", range, ", ");
  figure("maxMomentaryLufs", momentary, ", ");
  figure("maxShortTermLufs", short_term, ", ");
  figure("truePeakDbtp", 20 * log10(true_peak), ", ");
  figure("samplePeakDbfs", 20 * log10(sample_peak), "}\n");
  free(block);
  fclose(file);
  ebur128_destroy(&state);
  return 0;
}
