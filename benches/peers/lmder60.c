/* The 60-row bench with cminpack's lmder: one fit from a given start, and 10 000 bootstrap refits.
 *
 *   cc -O3 -march=native -I/usr/include/cminpack-1 -o lmder60 lmder60.c -lcminpack -lm
 *   ./lmder60 ../../tests/data/kinetic60.csv
 *
 * Debian and Ubuntu: apt-get install libcminpack-dev.
 *
 * Model: ln P = u lnP0 + (1 - u) lnPinf, u = exp(-k t), ln k = p2 - p3 (1/T - 1/353.15 K);
 * p = (lnP0, lnPinf, ln k, E/R). Derivatives by hand. Prints one line of JSON.
 *
 * Two ways to write the model: plain (as a user writes it: both exponentials in every row), and
 * careful (the rate once a temperature, and u kept from the residuals for the derivatives).
 */
#include <cminpack.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { ROWS = 60, P = 4, FITS = 20000, REFITS = 10000 };

typedef struct {
    double inverse[ROWS], seconds[ROWS], reading[ROWS];
    int temperature[ROWS]; /* which of the temperatures below */
    double temperatures[ROWS];
    int count;
    double kept_at[P], u[ROWS], rate[ROWS];
} Bench;

static int plain(void *data, int m, int n, const double *p, double *f, double *j, int ldj, int flag) {
    const Bench *b = data;
    (void)n;
    for (int i = 0; i < m; i++) {
        double rate = exp(p[2] - p[3] * b->inverse[i]);
        double u = exp(-rate * b->seconds[i]);
        if (flag == 1) {
            f[i] = u * p[0] + (1 - u) * p[1] - b->reading[i];
        } else {
            double slope = (p[1] - p[0]) * u * rate * b->seconds[i];
            j[i] = u;
            j[i + ldj] = 1 - u;
            j[i + 2 * ldj] = slope;
            j[i + 3 * ldj] = -slope * b->inverse[i];
        }
    }
    return 0;
}

static void keep(Bench *b, const double *p) {
    if (memcmp(b->kept_at, p, sizeof b->kept_at) == 0) return;
    double rates[ROWS];
    for (int c = 0; c < b->count; c++) rates[c] = exp(p[2] - p[3] * b->temperatures[c]);
    for (int i = 0; i < ROWS; i++) {
        b->rate[i] = rates[b->temperature[i]];
        b->u[i] = exp(-b->rate[i] * b->seconds[i]);
    }
    memcpy(b->kept_at, p, sizeof b->kept_at);
}

static int careful(void *data, int m, int n, const double *p, double *f, double *j, int ldj, int flag) {
    Bench *b = data;
    (void)n;
    keep(b, p);
    if (flag == 1) {
        for (int i = 0; i < m; i++) f[i] = b->u[i] * p[0] + (1 - b->u[i]) * p[1] - b->reading[i];
    } else {
        for (int i = 0; i < m; i++) {
            double slope = (p[1] - p[0]) * b->u[i] * b->rate[i] * b->seconds[i];
            j[i] = b->u[i];
            j[i + ldj] = 1 - b->u[i];
            j[i + 2 * ldj] = slope;
            j[i + 3 * ldj] = -slope * b->inverse[i];
        }
    }
    return 0;
}

static int fit(cminpack_funcder_mn model, Bench *b, double *p) {
    double f[ROWS], j[ROWS * P], diag[P], qtf[P], w1[P], w2[P], w3[P], w4[ROWS];
    int pivots[P], calls, gradients;
    return lmder(model, b, ROWS, P, p, f, j, ROWS, 1e-10, 1e-10, 0.0, 1000, diag, 1, 100.0, 0, &calls,
                 &gradients, pivots, qtf, w1, w2, w3, w4);
}

static double now(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return t.tv_sec + 1e-9 * t.tv_nsec;
}

static int rising(const void *a, const void *b) {
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* splitmix64: S. Vigna, public domain, from memory; any quick generator serves here. */
static uint64_t state = 1;
static uint64_t draw(void) {
    uint64_t z = (state += 0x9e3779b97f4a7c15u);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
}

static const double START[P] = {-6.0, 2.0, -6.5, 15000.0};

static void report(const char *name, cminpack_funcder_mn model, Bench *b) {
    static double times[FITS];
    double p[P], best[P];
    for (int i = 0; i < FITS; i++) {
        memcpy(p, START, sizeof p);
        double begin = now();
        int info = fit(model, b, p);
        times[i] = now() - begin;
        if (info < 1 || info > 4) exit(1);
    }
    memcpy(best, p, sizeof p);
    qsort(times, FITS, sizeof *times, rising);

    double fitted[ROWS], residuals[ROWS], observed[ROWS], spread[P] = {0};
    int failed = 0;
    model(b, ROWS, P, best, residuals, NULL, ROWS, 1);
    memcpy(observed, b->reading, sizeof observed);
    for (int i = 0; i < ROWS; i++) fitted[i] = observed[i] + residuals[i];
    double begin = now();
    for (int r = 0; r < REFITS; r++) {
        for (int i = 0; i < ROWS; i++) b->reading[i] = fitted[i] - residuals[draw() % ROWS];
        memcpy(p, best, sizeof p);
        int info = fit(model, b, p);
        failed += info < 1 || info > 4;
        for (int k = 0; k < P; k++) spread[k] += (p[k] - best[k]) * (p[k] - best[k]);
    }
    double refits = now() - begin;
    memcpy(b->reading, observed, sizeof observed);
    printf("\"%s\": {\"fit_s\": %.9g, \"refits_s\": %.9g, \"failed\": %d, \"parameters\": [", name, times[FITS / 2],
           refits, failed);
    for (int k = 0; k < P; k++) printf("%.17g%s", best[k], k + 1 < P ? ", " : "], \"bootstrap_sd\": [");
    for (int k = 0; k < P; k++) printf("%.6g%s", sqrt(spread[k] / REFITS), k + 1 < P ? ", " : "]}");
}

int main(int argc, char **argv) {
    static Bench b;
    FILE *file = argc > 1 ? fopen(argv[1], "r") : NULL;
    char line[512];
    if (!file || !fgets(line, sizeof line, file)) {
        fprintf(stderr, "usage: lmder60 kinetic60.csv\n");
        return 2;
    }
    for (int i = 0; i < ROWS && fgets(line, sizeof line, file); i++) {
        double kelvin;
        if (sscanf(line, "%*f,%lf,%lf,%*f,%*f,%lf", &kelvin, &b.seconds[i], &b.reading[i]) != 3) return 2;
        b.inverse[i] = 1 / kelvin - 1 / 353.15;
        int c = 0;
        while (c < b.count && b.temperatures[c] != b.inverse[i]) c++;
        if (c == b.count) b.temperatures[b.count++] = b.inverse[i];
        b.temperature[i] = c;
    }
    fclose(file);
    printf("{");
    report("plain", plain, &b);
    printf(", ");
    report("careful", careful, &b);
    printf("}\n");
    return 0;
}
