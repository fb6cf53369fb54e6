// Against solid elements: the figures that CalculiX gave for the decks in tools/calculix.

#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <sstream>

#include "../../../tools/calculix/bent_tube.h"
#include "anfract/passage/lumen.h"
#include "canals.h"
#include "rod.h"

namespace anfract {
namespace {

struct SolidRod {
    std::vector<double> s_mm, strain;
    std::vector<Vec3> axis;
};

SolidRod read_solid(const std::string& name) {
    SolidRod solid;
    std::ifstream in(std::string(ANFRACT_SOURCE_DIR) + "/tools/calculix/" + name + ".txt");
    std::string line;
    while (std::getline(in, line)) {
        std::istringstream row(line);
        double s = 0, strain = 0;
        Vec3 p;
        if (row >> s >> p.x() >> p.y() >> p.z() >> strain) {
            solid.s_mm.push_back(s);
            solid.axis.push_back(p);
            solid.strain.push_back(strain);
        }
    }
    return solid;
}

/// Largest d/2 times the curvature of the circle through three neighbouring places.
double peak_from_axis(const SolidRod& solid, double diameter_mm) {
    double largest = 0;
    for (std::size_t i = 1; i + 1 < solid.axis.size(); ++i) {
        const double h = solid.s_mm[i + 1] - solid.s_mm[i];
        const Vec3 bend = (solid.axis[i + 1] - 2 * solid.axis[i] + solid.axis[i - 1]) / (h * h);
        largest = std::max(largest, bend.norm() * diameter_mm / 2);
    }
    return largest;
}

Canal canal_of_case(const calculix::TubeCase& given) {
    Canal canal;
    canal.name = given.name;
    const calculix::BentTube tube(given, 1);
    const int steps = static_cast<int>(std::lround(given.tube_length_mm() / 0.1));
    for (int i = 0; i <= steps; ++i) {
        CanalSample sample;
        sample.depth_mm = given.tube_length_mm() * i / steps;
        const auto& p = tube.at(sample.depth_mm).point;
        sample.point_P = Vec3(p[0], p[1], p[2]);
        sample.diameter_mm = 2 * given.tube_radius_mm();
        canal.samples.push_back(sample);
    }
    return canal;
}

class AgainstSolids : public testing::TestWithParam<const char*> {};

TEST_P(AgainstSolids, PeakStrainAgreesWithinThreePerCent) {
    const calculix::TubeCase* given = calculix::find_case(GetParam());
    ASSERT_NE(given, nullptr);
    const SolidRod solid = read_solid(given->name);
    ASSERT_GT(solid.axis.size(), 20u);
    const Lumen lumen = *lumen_of(canal_of_case(*given), 0.05);
    const Guide guide(lumen);
    const Device device = test::rod(given->rod_mm, given->modulus_MPa, 30);
    const Beam beam(device);
    RodOptions options;
    options.friction = 0;
    options.handle_mm = 0;  // the slope is held at the very top, as in the deck
    options.most_rounds = 12;
    // The tip's depth at which as much rod is inside as the deck has.
    double tip = given->rod_length_mm;
    RodState state;
    for (int i = 0; i < 4; ++i) {
        state = hold_rod(guide, beam, tip, options);
        tip += given->rod_length_mm - state.from_tip_mm.front();
    }
    ASSERT_TRUE(state.converged);
    const double ours = *std::max_element(state.strain.begin(), state.strain.end());
    const double from_axis = peak_from_axis(solid, given->rod_mm);
    const double from_rim = *std::max_element(solid.strain.begin(), solid.strain.end());
    RecordProperty("ours", std::to_string(ours));
    RecordProperty("solid_from_axis", std::to_string(from_axis));
    RecordProperty("solid_from_rim", std::to_string(from_rim));
    EXPECT_NEAR(ours, from_axis, 0.03 * from_axis);
    // Strain read at the rim nodes is extrapolated there by a mesh of 8 elements round: all along
    // the rod it is 4.6 % above what the same run's own axis gives.
    EXPECT_NEAR(ours, from_rim, 0.05 * from_rim);
    // And the two axes lie on one another.
    double farthest = 0;
    for (const Vec3& p : solid.axis) {
        double nearest = 1e9;
        for (std::size_t i = 0; i + 1 < state.point_P.size(); ++i) {
            const Vec3 piece = state.point_P[i + 1] - state.point_P[i];
            const double t =
                std::clamp((p - state.point_P[i]).dot(piece) / piece.squaredNorm(), 0.0, 1.0);
            nearest = std::min(nearest, (p - state.point_P[i] - t * piece).norm());
        }
        farthest = std::max(farthest, nearest);
    }
    RecordProperty("farthest_mm", std::to_string(farthest));
    // 2 um in the planar case. In the spatial one 13 um of the 100 um of clearance, at any spacing:
    // not explained yet, and the bound there only keeps it from growing.
    EXPECT_LT(farthest, given->name == "planar" ? 0.01 : 0.015);
}

INSTANTIATE_TEST_SUITE_P(Decks, AgainstSolids, testing::Values("planar", "spatial"));

}  // namespace
}  // namespace anfract
