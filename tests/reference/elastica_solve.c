/* Bent wires, as the core computes them. Reads lines on standard input, prints one JSON array:
 *   loaded px py mu give
 *   follower px py mu give
 *   deflected y mu give
 *   guided y slope give */
#include <stdio.h>
#include <string.h>

#include "../../core/elastica.h"

int main(void) {
    char line[256], word[16];
    const char *separator = "[";
    while (fgets(line, sizeof line, stdin)) {
        double v[4] = {0};
        hf_elastica e;
        hf_elastica_status status;
        if (sscanf(line, "%15s %lf %lf %lf %lf", word, &v[0], &v[1], &v[2], &v[3]) < 4) return 2;
        hf_elastica_load load = {v[0], v[1], v[2], v[3], strcmp(word, "follower") == 0};
        if (strcmp(word, "deflected") == 0)
            status = hf_elastica_deflected(v[0], v[1], v[2], &e);
        else if (strcmp(word, "guided") == 0)
            status = hf_elastica_guided(v[0], v[1], v[2], &e);
        else
            status = hf_elastica_loaded(&load, &e);
        if (status != HF_ELASTICA_ONLY && status != HF_ELASTICA_SEVERAL) return 1;
        printf(
            "%s{\"x\": %.17g, \"y\": %.17g, \"slope\": %.17g, \"px\": %.17g, \"py\": %.17g, \"mu\": %.17g, ",
            separator, e.x, e.y, e.slope, e.px, e.py, e.mu);
        printf("\"root\": %.17g, \"peak\": %.17g, \"energy\": %.17g}", e.root_curvature, e.peak_curvature,
            e.energy);
        separator = ",\n ";
    }
    printf("]\n");
    return 0;
}
