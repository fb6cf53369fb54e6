// A rod that turns far: against the elastica, in oval canals, and by the spacing of its nodes.

#include <gtest/gtest.h>

#include <Eigen/Geometry>
#include <Eigen/QR>
#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "anfract/passage/lumen.h"
#include "canals.h"
#include "held_rod.h"
#include "rod.h"

namespace anfract {
namespace {

using test::canal_of;
using test::CanalShape;
using test::held;
using test::peak;
using test::rod;

RodOptions frictionless(double spacing_mm) {
    RodOptions options;
    options.friction = 0;
    options.spacing_mm = spacing_mm;
    options.access = Access::Straight;
    return options;
}

/// Nodes first to last that touch nothing.
struct Stretch {
    std::size_t first = 0, last = 0;
};

std::vector<Stretch> free_stretches(const RodState& state) {
    std::vector<Stretch> stretches;
    bool inside = false;
    for (std::size_t i = 0; i < state.contact_N.size(); ++i) {
        const bool free = state.contact_N[i].norm() == 0;
        if (free && !inside) stretches.push_back({i, i});
        if (free) stretches.back().last = i;
        inside = free;
    }
    return stretches;
}

// The elastica [Euler1744]: where nothing touches a rod, one force acts along all of it, so its
// moment is that force times the distance from one line: kappa = a + b x + c y, however far it
// turns.
TEST(LargeTurn, BetweenContactsTheRodIsAnElastica) {
    const CanalShape shape{.straight_mm = 4,
                           .radius_mm = 5,
                           .angle_deg = 90,
                           .leg_mm = 4,
                           .wide_mm = 2,
                           .narrow_mm = 2};
    const RodState state = held(canal_of(shape), rod(0.25, 60000, 40), 8 + shape.length_mm() - 0.5,
                                frictionless(0.05));
    double farthest_deg = 0;
    for (const Stretch& free : free_stretches(state)) {
        const auto count = static_cast<Eigen::Index>(free.last - free.first + 1);
        if (count < 20) continue;
        Eigen::MatrixX3d place(count, 3);
        Eigen::VectorXd bend(count);
        for (Eigen::Index k = 0; k < count; ++k) {
            const std::size_t i = free.first + static_cast<std::size_t>(k);
            place.row(k) << 1, state.point_P[i].x(), state.point_P[i].z();
            // The canal lies in the x-z plane; it bends about y.
            const Vec3 along = i + 1 < state.point_P.size()
                                   ? state.point_P[i + 1] - state.point_P[i]
                                   : state.point_P[i] - state.point_P[i - 1];
            bend[k] = along.normalized().cross(state.curvature_per_mm[i]).y();
        }
        const Eigen::VectorXd line = place.colPivHouseholderQr().solve(bend);
        const double off = (place * line - bend).cwiseAbs().maxCoeff();
        const double most = bend.cwiseAbs().maxCoeff();
        const Vec3 first = state.point_P[free.first + 1] - state.point_P[free.first];
        const Vec3 last = state.point_P[free.last] - state.point_P[free.last - 1];
        const double turned_deg =
            std::acos(std::clamp(first.normalized().dot(last.normalized()), -1.0, 1.0)) * 180 /
            std::numbers::pi;
        farthest_deg = std::max(farthest_deg, turned_deg);
        EXPECT_LT(off, 1e-4 * most);
    }
    EXPECT_GT(farthest_deg, 30);  // of small turns 8 degrees would be within 1 %
}

Canal oval(const CanalShape& shape, double across_mm, double along_deg) {
    Canal canal = canal_of(shape);
    for (CanalSample& sample : canal.samples) {
        sample.diameter_long_mm = std::max(across_mm, sample.diameter_mm);
        sample.diameter_short_mm = std::min(across_mm, sample.diameter_mm);
        sample.long_axis_deg = along_deg;
    }
    return canal;
}

// A rod bent in a plane feels the walls in that plane alone: an oval canal holds it as a round one
// as wide as the oval is in that plane. The hull of an oval's rim, seen along 24 directions, is
// slightly narrower beside its long axis.
TEST(LargeTurn, AnOvalCanalIsAsWideAsInThePlaneOfTheBend) {
    const CanalShape narrow{
        .radius_mm = 5, .angle_deg = 50, .leg_mm = 2, .wide_mm = 0.5, .narrow_mm = 0.5};
    CanalShape wide = narrow;
    wide.wide_mm = wide.narrow_mm = 0.9;
    const Device device = rod(0.25, 60000, 40);
    const auto hold = [&](const Canal& canal) {
        return held(canal, device, 8 + narrow.length_mm() - 1, frictionless(0.1));
    };
    const RodState in_narrow = hold(canal_of(narrow)), across = hold(oval(narrow, 0.9, 90));
    EXPECT_NEAR(peak(across), peak(in_narrow), 2e-3 * peak(in_narrow));
    EXPECT_NEAR(across.bending_energy_Nmm, in_narrow.bending_energy_Nmm,
                2e-3 * in_narrow.bending_energy_Nmm);
    const RodState in_wide = hold(canal_of(wide)), along = hold(oval(narrow, 0.9, 0));
    EXPECT_NEAR(peak(along), peak(in_wide), 0.015 * peak(in_wide));
    EXPECT_NEAR(along.bending_energy_Nmm, in_wide.bending_energy_Nmm,
                0.025 * in_wide.bending_energy_Nmm);
    EXPECT_LT(peak(along), 0.7 * peak(across));
}

// Nodes know contacts to one piece only, so first order is what can be had: errors against a rod
// eight times as fine fall at least as the spacing does.
TEST(LargeTurn, ConvergesInFirstOrderOfTheSpacing) {
    const CanalShape shape{
        .radius_mm = 4, .angle_deg = 50, .leg_mm = 2, .wide_mm = 0.45, .narrow_mm = 0.45};
    struct Figures {
        double energy, peak, pressed;
    };
    const auto at = [&](double spacing_mm) {
        const RodState state =
            held(canal_of(shape), rod(0.25, 60000, 30), 17, frictionless(spacing_mm));
        double pressed = 0;
        for (const Vec3& force : state.contact_N) pressed += force.norm();
        return Figures{state.bending_energy_Nmm, peak(state), pressed};
    };
    const Figures exact = at(0.00625);
    const std::vector<double> spacings{0.2, 0.1, 0.05};
    double mean_x = 0, mean_y = 0, xy = 0, xx = 0;
    for (const double h : spacings) {
        const Figures found = at(h);
        EXPECT_LT(std::abs(found.energy / exact.energy - 1), 0.04 * h) << h;
        EXPECT_LT(std::abs(found.peak / exact.peak - 1), 0.15 * h) << h;
        EXPECT_LT(std::abs(found.pressed / exact.pressed - 1), 0.04 * h) << h;
        const double x = std::log(h), y = std::log(std::abs(found.energy / exact.energy - 1));
        mean_x += x / 3, mean_y += y / 3, xy += x * y / 3, xx += x * x / 3;
    }
    const double order = (xy - mean_x * mean_y) / (xx - mean_x * mean_x);
    RecordProperty("order_of_energy", std::to_string(order));
    EXPECT_GT(order, 1.0);
}

}  // namespace
}  // namespace anfract
