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

/// Largest d/2 times the second difference of an axis known at the layers of the solid rod.
double peak_from_axis(const std::vector<double>& s_mm, const std::vector<Vec3>& axis,
                      double diameter_mm) {
    double largest = 0;
    for (std::size_t i = 1; i + 1 < axis.size(); ++i) {
        const double h = s_mm[i + 1] - s_mm[i];
        const Vec3 bend = (axis[i + 1] - 2 * axis[i] + axis[i - 1]) / (h * h);
        largest = std::max(largest, bend.norm() * diameter_mm / 2);
    }
    return largest;
}

/// Our axis at those layers, by a cubic through four nodes.
std::vector<Vec3> axis_at(const RodState& state, const std::vector<double>& s_mm) {
    std::vector<Vec3> axis;
    const int last = static_cast<int>(state.point_P.size()) - 1;
    for (const double s : s_mm) {
        const int i = std::clamp(static_cast<int>(s / state.spacing_mm) - 1, 0, last - 3);
        const double t = s / state.spacing_mm - i;
        axis.push_back(-(t - 1) * (t - 2) * (t - 3) / 6 * state.point_P[i] +
                       t * (t - 2) * (t - 3) / 2 * state.point_P[i + 1] -
                       t * (t - 1) * (t - 3) / 2 * state.point_P[i + 2] +
                       t * (t - 1) * (t - 2) / 6 * state.point_P[i + 3]);
    }
    return axis;
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

TEST_P(AgainstSolids, PeakStrainAgrees) {
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
    // Both strains by the same difference between places 0.2 mm apart, which flattens the peak
    // under a contact alike.
    const double ours = peak_from_axis(solid.s_mm, axis_at(state, solid.s_mm), given->rod_mm);
    const double theirs = peak_from_axis(solid.s_mm, solid.axis, given->rod_mm);
    const double rim = *std::max_element(solid.strain.begin(), solid.strain.end());
    RecordProperty("ours", std::to_string(ours));
    RecordProperty("solid_from_axis", std::to_string(theirs));
    RecordProperty("solid_from_rim", std::to_string(rim));
    // 1.0 % apart in the plane; 2.8 % in space, where the solids' rod lies in a corner of its wall.
    EXPECT_NEAR(ours, theirs, (given->name == "planar" ? 0.02 : 0.03) * theirs);
    // Strain read at the rim nodes is extrapolated there by a mesh of 8 elements round, and is up
    // to 4.6 % above what the same run's own axis gives.
    EXPECT_NEAR(ours, rim, 0.05 * rim);
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
    // 2 um in the planar case. In the spatial one the rod may slide round the wall at hardly any
    // cost, and the solids' wall, a polygon of 24 facets, keeps it in a corner: up to half a facet,
    // 13 um, aside.
    EXPECT_LT(farthest, given->name == "planar" ? 0.005 : 0.01);
}

INSTANTIATE_TEST_SUITE_P(Decks, AgainstSolids, testing::Values("planar", "spatial"));

}  // namespace
}  // namespace anfract
