#include "side_kernels.h"

#include <algorithm>
#include <cmath>

// The same source compiled for plain and for wide registers, chosen when the program starts;
// instrumented builds keep to one version, since their checks are not ready when that choice is
// made.
#if defined(__GNUC__) && !defined(__clang__) && defined(__x86_64__) && \
    !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
#define ANFRACT_WIDE __attribute__((target_clones("avx2", "default")))
#else
#define ANFRACT_WIDE
#endif

namespace anfract {
namespace {

/// Four numbers at a time; loads and stores need no alignment beyond that of a double.
typedef double Four __attribute__((vector_size(32), aligned(8)));
typedef std::int64_t FourBits __attribute__((vector_size(32)));

#define ANFRACT_FOUR(pointer) (*reinterpret_cast<const Four*>(pointer))
#define ANFRACT_FOUR_OUT(pointer) (*reinterpret_cast<Four*>(pointer))
#define ANFRACT_SUM(v) ((v)[0] + (v)[1] + (v)[2] + (v)[3])
#define ANFRACT_MAX(v) std::max(std::max((v)[0], (v)[1]), std::max((v)[2], (v)[3]))

}  // namespace

void SideArrays::resize() {
    const std::size_t count = static_cast<std::size_t>(sides) * nodes;
    for (auto* array : {&slack, &force, &weight, &inverse_force, &residual, &pull, &shift,
                        &step_slack, &step_force}) {
        array->resize(count);
    }
}

ANFRACT_WIDE
SideStatistics prepare_sides(SideArrays& a, const double* u, NodeSums* sums) {
    Four product = {}, largest = {};
    for (int i = 0; i < a.nodes; ++i) {
        Four fx = {}, fy = {}, xx = {}, xy = {}, yy = {}, px = {}, py = {};
        const double ux = u[2 * i], uy = u[2 * i + 1];
        for (int k = i * a.sides; k < (i + 1) * a.sides; k += 4) {
            const Four x = ANFRACT_FOUR(a.x + k), y = ANFRACT_FOUR(a.y + k);
            const Four s = ANFRACT_FOUR(a.slack.data() + k), z = ANFRACT_FOUR(a.force.data() + k);
            const Four r = x * ux + y * uy + s - ANFRACT_FOUR(a.gap + k) - a.compliance * z;
            const Four w = z / (s + a.compliance * z);
            const Four p = w * (r - s);
            ANFRACT_FOUR_OUT(a.inverse_force.data() + k) = 1.0 / z;
            ANFRACT_FOUR_OUT(a.weight.data() + k) = w;
            ANFRACT_FOUR_OUT(a.residual.data() + k) = r;
            ANFRACT_FOUR_OUT(a.pull.data() + k) = p;
            fx += x * z;
            fy += y * z;
            xx += w * x * x;
            xy += w * x * y;
            yy += w * y * y;
            px += x * p;
            py += y * p;
            product += s * z;
            const Four negative = -r;
            const Four size = r > negative ? r : negative;
            largest = size > largest ? size : largest;
        }
        sums[i] = {ANFRACT_SUM(fx), ANFRACT_SUM(fy), ANFRACT_SUM(xx), ANFRACT_SUM(xy),
                   ANFRACT_SUM(yy), ANFRACT_SUM(px), ANFRACT_SUM(py)};
    }
    return {ANFRACT_SUM(product), ANFRACT_MAX(largest)};
}

ANFRACT_WIDE
SideStep predict_sides(SideArrays& a, const double* du) {
    Four shrink = {}, mixed = {}, square = {};
    for (int i = 0; i < a.nodes; ++i) {
        const double ux = du[2 * i], uy = du[2 * i + 1];
        for (int k = i * a.sides; k < (i + 1) * a.sides; k += 4) {
            const Four s = ANFRACT_FOUR(a.slack.data() + k), z = ANFRACT_FOUR(a.force.data() + k);
            const Four dz = ANFRACT_FOUR(a.weight.data() + k) *
                                (ANFRACT_FOUR(a.x + k) * ux + ANFRACT_FOUR(a.y + k) * uy) +
                            ANFRACT_FOUR(a.pull.data() + k);
            const Four grow = dz * ANFRACT_FOUR(a.inverse_force.data() + k);
            const Four ds = -s - s * grow;
            ANFRACT_FOUR_OUT(a.step_slack.data() + k) = ds;
            ANFRACT_FOUR_OUT(a.step_force.data() + k) = dz;
            // -ds/s = 1 + dz/z
            const Four worse = grow > -0.5 ? 1.0 + grow : -grow;
            shrink = worse > shrink ? worse : shrink;
            mixed += s * dz + z * ds;
            square += ds * dz;
        }
    }
    return {ANFRACT_MAX(shrink), ANFRACT_SUM(mixed), ANFRACT_SUM(square)};
}

ANFRACT_WIDE
void correct_sides(SideArrays& a, double target, NodeSums* sums) {
    for (int i = 0; i < a.nodes; ++i) {
        Four px = {}, py = {};
        for (int k = i * a.sides; k < (i + 1) * a.sides; k += 4) {
            const Four s = ANFRACT_FOUR(a.slack.data() + k), z = ANFRACT_FOUR(a.force.data() + k);
            const Four product = s * z + ANFRACT_FOUR(a.step_slack.data() + k) *
                                             ANFRACT_FOUR(a.step_force.data() + k);
            const Four shift = (product - target) * ANFRACT_FOUR(a.inverse_force.data() + k);
            const Four p =
                ANFRACT_FOUR(a.weight.data() + k) * (ANFRACT_FOUR(a.residual.data() + k) - shift);
            ANFRACT_FOUR_OUT(a.shift.data() + k) = shift;
            ANFRACT_FOUR_OUT(a.pull.data() + k) = p;
            px += ANFRACT_FOUR(a.x + k) * p;
            py += ANFRACT_FOUR(a.y + k) * p;
        }
        sums[i].pull_x = ANFRACT_SUM(px);
        sums[i].pull_y = ANFRACT_SUM(py);
    }
}

ANFRACT_WIDE
double step_sides(SideArrays& a, const double* du) {
    Four shrink = {};
    for (int i = 0; i < a.nodes; ++i) {
        const double ux = du[2 * i], uy = du[2 * i + 1];
        for (int k = i * a.sides; k < (i + 1) * a.sides; k += 4) {
            const Four s = ANFRACT_FOUR(a.slack.data() + k);
            const Four dz = ANFRACT_FOUR(a.weight.data() + k) *
                                (ANFRACT_FOUR(a.x + k) * ux + ANFRACT_FOUR(a.y + k) * uy) +
                            ANFRACT_FOUR(a.pull.data() + k);
            const Four grow = dz * ANFRACT_FOUR(a.inverse_force.data() + k);
            const Four ds = -ANFRACT_FOUR(a.shift.data() + k) - s * grow;
            ANFRACT_FOUR_OUT(a.step_slack.data() + k) = ds;
            ANFRACT_FOUR_OUT(a.step_force.data() + k) = dz;
            const Four closing = -ds / s, falling = -grow;
            const Four worse = closing > falling ? closing : falling;
            shrink = worse > shrink ? worse : shrink;
        }
    }
    return ANFRACT_MAX(shrink);
}

ANFRACT_WIDE
void advance_sides(SideArrays& a, double step) {
    const int count = a.nodes * a.sides;
    for (int k = 0; k < count; k += 4) {
        ANFRACT_FOUR_OUT(a.slack.data() + k) += step * ANFRACT_FOUR(a.step_slack.data() + k);
        ANFRACT_FOUR_OUT(a.force.data() + k) += step * ANFRACT_FOUR(a.step_force.data() + k);
    }
}

ANFRACT_WIDE
std::uint64_t sides_beyond(const double* gap, int sides, const double* n_x, const double* n_y,
                           double seen_x, double seen_y, double* v) {
    FourBits found = {}, bit = {1, 2, 4, 8};
    for (int k = 0; k < sides; k += 4) {
        const Four beyond =
            ANFRACT_FOUR(n_x + k) * seen_x + ANFRACT_FOUR(n_y + k) * seen_y - ANFRACT_FOUR(gap + k);
        ANFRACT_FOUR_OUT(v + k) = beyond;
        found |= (beyond > 0.0) & bit;
        bit <<= 4;
    }
    return static_cast<std::uint64_t>(found[0] | found[1] | found[2] | found[3]);
}

}  // namespace anfract
