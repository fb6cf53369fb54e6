#include "buckling.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <vector>

namespace anfract {

double buckling_force_N(const Beam& beam, double from_mm, double to_mm) {
    const double length = to_mm - from_mm;
    if (length <= 0) return std::numeric_limits<double>::infinity();
    constexpr int inner = 39;
    const double h = length / (inner + 1);
    std::vector<double> flexibility(inner), w(inner), right(inner), above(inner);
    for (int i = 0; i < inner; ++i) {
        flexibility[i] = 1 / beam.stiffness_Nmm2(from_mm + (i + 1) * h);
        w[i] = std::sin(std::numbers::pi * (i + 1) / (inner + 1));
    }
    double force = 0;
    for (int iteration = 0; iteration < 12; ++iteration) {
        // Solves -v'' = w / EI by elimination on the tridiagonal matrix (-1, 2, -1) / h^2.
        double pivot = 2;
        for (int i = 0; i < inner; ++i) {
            right[i] = h * h * flexibility[i] * w[i];
            if (i > 0) {
                right[i] += right[i - 1] / pivot;
                pivot = 2 - 1 / pivot;
            }
            above[i] = pivot;
        }
        double largest = 0, old_largest = 0;
        for (int i = inner - 1; i >= 0; --i) {
            right[i] = (right[i] + (i + 1 < inner ? right[i + 1] : 0.0)) / above[i];
            largest = std::max(largest, right[i]);
            old_largest = std::max(old_largest, w[i]);
        }
        force = old_largest / largest;
        for (int i = 0; i < inner; ++i) w[i] = right[i] / largest;
    }
    return force;
}

InnerBuckling inner_buckling(const Guide& guide, const Beam& beam, const RodState& state) {
    InnerBuckling worst;
    const int count = static_cast<int>(state.depth_mm.size());
    double largest = 0;
    for (const Vec3& contact : state.contact_N) largest = std::max(largest, contact.norm());
    const double touching = 1e-3 * std::max(largest, 1e-6);
    const auto consider = [&worst](double compression, double force, double depth) {
        const double ratio = force > 0 ? compression / force : 0.0;
        if (ratio > worst.ratio) worst = {ratio, depth, force};
    };
    int last_contact = count - 1;
    for (int i = count - 1; i >= 0; --i) {
        if (state.contact_N[i].norm() <= touching && i > 0) continue;
        if (last_contact - i > 2) {
            const double force =
                buckling_force_N(beam, state.from_tip_mm[last_contact], state.from_tip_mm[i]);
            consider(state.compression_N[i + 1], force, state.depth_mm[(i + last_contact) / 2]);
        }
        last_contact = i;
        const double bend = state.curvature_per_mm[i].norm();
        const double clearance =
            guide.inradius_mm(state.depth_mm[i]) - beam.radius_mm(state.from_tip_mm[i]);
        if (bend > 0.02 && clearance > 1e-3) {
            consider(state.compression_N[i],
                     4 * beam.stiffness_Nmm2(state.from_tip_mm[i]) * bend / clearance,
                     state.depth_mm[i]);
        }
    }
    return worst;
}

}  // namespace anfract
