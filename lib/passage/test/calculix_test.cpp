// Against solid elements: the figures that CalculiX gave for the decks in tools/calculix.

#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <sstream>

#include "../../../tools/calculix/tube_canal.h"
#include "anfract/passage/lumen.h"
#include "canals.h"
#include "rod.h"
#include "rod_line.h"

namespace anfract {
namespace {

/// What the solids gave, place by place.
struct SolidRod {
    std::vector<double> s_mm;
    std::vector<Vec3> axis;
    std::vector<double> strain;  ///< over the piece from there to the next place
    double pressed_N = 0;        ///< by the wall, all places together
    double peak() const { return *std::max_element(strain.begin(), strain.end()); }
};

SolidRod read_solid(const std::string& name) {
    SolidRod solid;
    std::ifstream in(std::string(ANFRACT_SOURCE_DIR) + "/tools/calculix/" + name + ".txt");
    std::string line;
    while (std::getline(in, line)) {
        std::istringstream row(line);
        double s = 0, strain = 0, force = 0;
        Vec3 p;
        if (row >> s >> p.x() >> p.y() >> p.z() >> strain >> force) {
            solid.s_mm.push_back(s);
            solid.axis.push_back(p);
            solid.strain.push_back(strain);
            solid.pressed_N += force;
        }
    }
    return solid;
}

/// Our strain over the pieces of the solid rod: a mean over each, as what a piece of the solids'
/// rim is stretched by is one.
double peak_over_pieces(const RodState& state, const std::vector<double>& s_mm) {
    constexpr int parts = 10;
    double peak = 0;
    for (std::size_t i = 0; i + 1 < s_mm.size(); ++i) {
        double sum = 0;
        for (int k = 0; k < parts; ++k) {
            const double s = s_mm[i] + (s_mm[i + 1] - s_mm[i]) * (k + 0.5) / parts;
            sum += between(state.strain, s / state.spacing_mm);
        }
        peak = std::max(peak, sum / parts);
    }
    return peak;
}

class AgainstSolids : public testing::TestWithParam<const char*> {};

TEST_P(AgainstSolids, PeakStrainAndContactForceAgree) {
    const calculix::TubeCase* given = calculix::find_case(GetParam());
    ASSERT_NE(given, nullptr);
    const SolidRod solid = read_solid(given->name);
    ASSERT_GT(solid.axis.size(), 20u);
    const Lumen lumen = *lumen_of(calculix::canal_of(*given), 0.05);
    const Guide guide(lumen);
    const Device device = test::rod(given->rod_mm, given->modulus_MPa, 30);
    const Beam beam(device);
    RodOptions options;
    options.friction = 0;
    options.handle_mm = 0;  // the slope is held at the very top, as in the deck
    // The tip's depth at which as much rod is inside as the deck has.
    double tip = given->rod_length_mm;
    RodState state;
    for (int i = 0; i < 4; ++i) {
        state = hold_rod(guide, beam, tip, options);
        tip += given->rod_length_mm - state.from_tip_mm.front();
    }
    ASSERT_TRUE(state.converged);
    const double peak = peak_over_pieces(state, solid.s_mm);
    double pressed = 0;
    for (const Vec3& force : state.contact_N) pressed += force.norm();
    RecordProperty("peak_strain", std::to_string(peak));
    RecordProperty("peak_strain_of_solids", std::to_string(solid.peak()));
    RecordProperty("pressed_N", std::to_string(pressed));
    RecordProperty("pressed_N_by_solids", std::to_string(solid.pressed_N));
    EXPECT_NEAR(peak, solid.peak(), 0.02 * solid.peak());
    EXPECT_NEAR(pressed, solid.pressed_N, 0.02 * solid.pressed_N);
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
    EXPECT_LT(farthest, 0.005);
}

INSTANTIATE_TEST_SUITE_P(Decks, AgainstSolids,
                         testing::Values("planar", "tight", "s-curve", "spatial"));

}  // namespace
}  // namespace anfract
