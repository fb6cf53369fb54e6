#include "buckling.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>

namespace anfract {

namespace {

constexpr int inner = 39;  // points of a column between its ends

/// i / (i + 1): what elimination on the tridiagonal matrix (-1, 2, -1) carries on.
constexpr auto carried_share = [] {
    std::array<double, inner + 1> shares{};
    for (int i = 0; i <= inner; ++i) shares[i] = static_cast<double>(i) / (i + 1);
    return shares;
}();

/// The shape in which an even column buckles.
const auto half_wave = [] {
    std::array<double, inner> wave{};
    for (int i = 0; i < inner; ++i) wave[i] = std::sin(std::numbers::pi * (i + 1) / (inner + 1));
    return wave;
}();

}  // namespace

double buckling_force_N(const Beam& beam, double from_mm, double to_mm) {
    const double length = to_mm - from_mm;
    if (length <= 0) return std::numeric_limits<double>::infinity();
    constexpr int most_iterations = 30;
    constexpr double close = 1e-7;
    const double h = length / (inner + 1);
    std::array<double, inner> flexibility;
    for (int i = 0; i < inner; ++i) {
        flexibility[i] = h * h / beam.stiffness_Nmm2(from_mm + (i + 1) * h);
    }
    std::array<double, inner> w = half_wave, right;
    double force = 0;
    for (int iteration = 0; iteration < most_iterations; ++iteration) {
        // Solves -v'' = w / EI by elimination on the tridiagonal matrix (-1, 2, -1) / h^2, whose
        // pivots are (i + 2) / (i + 1).
        double carried = 0;
        for (int i = 0; i < inner; ++i) {
            carried = flexibility[i] * w[i] + carried * carried_share[i];
            right[i] = carried;
        }
        double largest = 0, above = 0;
        for (int i = inner - 1; i >= 0; --i) {
            above = (right[i] + above) * carried_share[i + 1];
            right[i] = above;
            largest = std::max(largest, above);
        }
        const double before = force;
        force = 1 / largest;  // w is 1 at its largest
        for (int i = 0; i < inner; ++i) w[i] = right[i] / largest;
        if (std::abs(force - before) < close * force) break;
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
            const double from = state.from_tip_mm[last_contact], to = state.from_tip_mm[i];
            // As stiff all along as at its softer end it would buckle no later.
            const double least = std::pow(std::numbers::pi / (to - from), 2) *
                                 std::min(beam.stiffness_Nmm2(from), beam.stiffness_Nmm2(to));
            const double compression = state.compression_N[i + 1];
            if (compression > worst.ratio * least) {
                consider(compression, buckling_force_N(beam, from, to),
                         state.depth_mm[(i + last_contact) / 2]);
            }
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
