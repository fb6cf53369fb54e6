#include "anfract/exchange/practice_model.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <Eigen/Geometry>
#include <map>
#include <numbers>

#include "made_tooth.h"
#include "tube.h"

namespace anfract {
namespace {

using ::testing::HasSubstr;

double volume_mm3(const Surface& surface) {
    double six = 0;
    for (const auto& [a, b, c] : surface.triangles) {
        six += surface.vertices_P[a].dot(surface.vertices_P[b].cross(surface.vertices_P[c]));
    }
    return six / 6;
}

/// Every edge is run through as often one way as the other.
bool is_closed(const Surface& surface) {
    std::map<std::pair<int, int>, int> balance;
    for (const auto& t : surface.triangles) {
        for (int k = 0; k < 3; ++k) {
            const int a = t[k], b = t[(k + 1) % 3];
            balance[std::minmax(a, b)] += a < b ? 1 : -1;
        }
    }
    for (const auto& [edge, count] : balance) {
        if (count != 0) return false;
    }
    return true;
}

ModelOptions block() {
    ModelOptions options;
    options.body = ModelBody::Block;
    return options;
}

// Closed form: a box of (d + 4) x (d + 4) x (L + 5) mm less a cylinder of length L + 2.5 mm. The
// grid cuts the box's 97 mm of edges by up to half a step squared: 0.04 mm3.
TEST(PracticeModel, ABlockRoundAStraightCanalHasItsVolume) {
    ModelOptions options = block();
    options.opened = false;
    options.grid_mm = 0.03;
    const double d = 0.6, length = 10;
    const auto model =
        practice_model(test::tooth_with({test::straight_canal(length, d)}), options, {});
    ASSERT_TRUE(model);
    EXPECT_TRUE(is_closed(model->surface));
    const double box = (d + 4) * (d + 4) * (length + 5);
    const double canal = std::numbers::pi / 4 * d * d * (length + 2.5);
    EXPECT_NEAR(box - volume_mm3(model->surface), canal, 0.02 * canal);
}

TEST(PracticeModel, TheHollowHasTheCanalsWidth) {
    const auto model =
        practice_model(test::tooth_with({test::straight_canal(10, 0.5)}), block(), {});
    ASSERT_TRUE(model);
    int seen = 0;
    for (const Vec3& p : model->surface.vertices_P) {
        const double r = std::hypot(p.x(), p.y());
        if (p.z() < 3 || p.z() > 9 || r > 1) continue;
        EXPECT_NEAR(r, 0.25, model->grid_mm / 2);
        ++seen;
    }
    EXPECT_GT(seen, 100);
}

// Euler's formula: a block with two separate ways through it is a body of genus 2, V - E + F = -2;
// with one opening that both canals start in, the same two ways.
TEST(PracticeModel, EveryCanalIsOpenAtBothEnds) {
    const Tooth tooth = test::tooth_with(
        {test::straight_canal(10, 0.4, {0, 0, 0}), test::straight_canal(8, 0.4, {2, 0, -1})});
    const auto model = practice_model(tooth, block(), {});
    ASSERT_TRUE(model);
    ASSERT_TRUE(is_closed(model->surface));
    std::map<int, int> used;
    for (const auto& t : model->surface.triangles) {
        for (const int v : t) ++used[v];
    }
    const auto faces = static_cast<long>(model->surface.triangles.size());
    EXPECT_EQ(static_cast<long>(used.size()) - faces * 3 / 2 + faces, -2);
}

TEST(PracticeModel, ScalesAndSaysWhereItIsNarrowest) {
    Canal canal = test::straight_canal(10, 0.4);
    canal.samples[12].diameter_mm = 0.3;
    ModelOptions options = block();
    options.grid_mm = 0.08;
    const auto once = practice_model(test::tooth_with({canal}), options, {});
    options.scale = 3;
    const auto thrice = practice_model(test::tooth_with({canal}), options, {});
    ASSERT_TRUE(once && thrice);
    EXPECT_NEAR(volume_mm3(thrice->surface), 27 * volume_mm3(once->surface), 1e-3);
    EXPECT_NEAR(thrice->narrowest_mm, 0.9, 1e-12);
    EXPECT_EQ(thrice->narrowest_canal, "B");
    EXPECT_NEAR(thrice->narrowest_depth_mm, 11, 1e-12);
}

// The tooth's own surface as the body: a box round the canal, so that the closed form holds again.
TEST(PracticeModel, TheToothsOwnSurfaceIsTheBody) {
    Tooth tooth = test::tooth_with({test::straight_canal(10, 0.6)});
    tooth.surface = exchange::box({-2, -2, -10}, {2, 2, 6});
    tooth.chamber = exchange::box({-1, -1, 0}, {1, 1, 2});
    ModelOptions options;
    options.opened = false;
    const auto model = practice_model(tooth, options, {});
    ASSERT_TRUE(model);
    EXPECT_TRUE(is_closed(model->surface));
    const double hollow = 8 + std::numbers::pi / 4 * 0.36 * 10;
    EXPECT_NEAR(4 * 4 * 16 - volume_mm3(model->surface), hollow, 0.02 * hollow);
}

TEST(PracticeModel, RefusesWhatCannotBeMade) {
    const Tooth tooth = test::tooth_with({test::straight_canal(10, 0.5)});
    const auto says = [](const Tooth& t, const ModelOptions& options) {
        const auto model = practice_model(t, options, {});
        return model ? std::string() : model.error().sentence();
    };
    EXPECT_THAT(says(test::tooth_with({}), block()), HasSubstr("no canal"));
    EXPECT_THAT(says(tooth, {}), HasSubstr("no outer surface"));
    ModelOptions options = block();
    options.scale = 0;
    EXPECT_THAT(says(tooth, options), HasSubstr("scale"));
    options = block();
    options.grid_mm = 0.005;
    EXPECT_THAT(says(tooth, options), HasSubstr("too fine"));
    options.grid_mm = -1;
    EXPECT_THAT(says(tooth, options), HasSubstr("grid"));
}

TEST(PracticeModel, StopsWhenAsked) {
    Progress progress;
    progress.cancel();
    const auto model =
        practice_model(test::tooth_with({test::straight_canal(10, 0.5)}), block(), progress);
    ASSERT_FALSE(model);
    EXPECT_EQ(model.error().code, ErrorCode::Cancelled);
}

}  // namespace
}  // namespace anfract
