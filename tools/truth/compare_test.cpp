#include "compare.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "matching.h"

namespace anfract::truth {
namespace {

TEST(BestMatching, TakesAsManyAsCanBeAndOfTheseTheCheapest) {
    using testing::ElementsAre;
    // The first row would take the first column, and leave the second row with none.
    EXPECT_THAT(best_matching({{1, 5}, {1, never}}), ElementsAre(1, 0));
    EXPECT_THAT(best_matching({{1, 5}, {2, 3}}), ElementsAre(0, 1));
    EXPECT_THAT(best_matching({{never, never}, {never, 4}}), ElementsAre(-1, 1));
    EXPECT_THAT(best_matching({{3}, {2}}), ElementsAre(-1, 0));
    EXPECT_THAT(best_matching({}), testing::IsEmpty());
}

/// A canal from `side_mm` beside the axis, which it reaches 3 mm down, and along it from there.
Canal canal_from(const std::string& name, double side_mm, const Vec3& centre_P) {
    Canal canal;
    canal.name = name;
    for (int n = 0; n <= 100; ++n) {
        const double s = 0.1 * n;
        CanalSample sample;
        sample.depth_mm = 8 + s;
        sample.point_P = centre_P + Vec3(side_mm * std::max(0.0, 1 - s / 3), 0, 5 - s);
        sample.diameter_mm = 0.3;
        canal.samples.push_back(sample);
    }
    canal.orifice_P = canal.samples.front().point_P;
    canal.foramen_P = canal.samples.back().point_P;
    canal.length_mm = 10;
    canal.depth_to_foramen_mm = 18;
    return canal;
}

// Two lines that share the apical two thirds lie equally near to either canal there. Dealt out in
// the order of the canals, each was once compared with the other's line.
TEST(Compare, MatchesCanalsThatShareTheirEndByTheirBeginnings) {
    PhantomOptions options;
    options.kind = "straight-30";
    options.voxel_mm = 0.4;
    Phantom phantom = *make_phantom(options, Progress());
    const GridGeometry& grid = phantom.volume.geometry;
    const Vec3 centre_P =
        grid.to_patient(Vec3(grid.size[0] / 2.0, grid.size[1] / 2.0, grid.size[2] / 2.0));
    phantom.truth.canals = {canal_from("MB", 1.5, centre_P), canal_from("MB2", -1.5, centre_P)};
    Tooth traced;
    traced.canals = {canal_from("b", -1.4, centre_P), canal_from("a", 1.4, centre_P)};
    for (int turn = 0; turn < 2; ++turn) {
        const ToothError error = compare(traced, phantom);
        ASSERT_EQ(error.canals.size(), 2U);
        EXPECT_EQ(error.canals[0].traced_name, "a");
        EXPECT_EQ(error.canals[1].traced_name, "b");
        EXPECT_LT(error.canals[0].line_max_mm, 0.11);
        std::swap(traced.canals[0], traced.canals[1]);
    }
}

}  // namespace
}  // namespace anfract::truth
