#include "waist.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace anfract::tracing {
namespace {

SectionSetting setting() {
    SectionSetting setting;
    setting.dentine_grey = 1000;
    return setting;
}

/// A section in which a place holds that share of pulp.
template <class Pulp>
SectionImage section(const Pulp& pulp) {
    SectionImage image;
    image.half = 24;
    image.pixel_mm = 0.0625;
    for (int y = -image.half; y <= image.half; ++y) {
        for (int x = -image.half; x <= image.half; ++x) {
            const Vec2 p = Vec2(x, y) * image.pixel_mm;
            image.grey.push_back(float(1000 - 1000 * pulp(p)));
        }
    }
    image.share.assign(image.grey.size(), 1);
    image.ground.assign(image.grey.size(), 1);
    return image;
}

/// A disc's share, its edge as wide as a pixel.
double disc(const Vec2& p, double radius_mm) {
    return std::clamp((radius_mm - p.norm()) / 0.0625 + 0.5, 0.0, 1.0);
}

// Two discs of 0.35 and 0.3 mm, 0.5 mm apart along y. They intersect 0.2825 mm from the middle of
// the greater, in a chord of 2 sqrt(0.35^2 - 0.2825^2) = 0.413 mm; the lesser is 0.6 wide, so that
// the waist is 0.311 deep (closed form).
TEST(Waist, IsFoundWhereTwoDiscsMeet) {
    const Vec2 greater(0, -0.2825), lesser(0, 0.2175);
    const SectionImage image = section(
        [&](const Vec2& p) { return std::max(disc(p - greater, 0.35), disc(p - lesser, 0.3)); });
    const auto waist = find_waist(image, setting(), std::numbers::pi / 2);
    ASSERT_TRUE(waist);
    EXPECT_NEAR(waist->depth, 0.311, 0.03);
    EXPECT_LT((waist->greater_mm - greater).norm(), 0.1);
    EXPECT_LT((waist->lesser_mm - lesser).norm(), 0.1);
}

TEST(Waist, IsNotSeenInAnOval) {
    const SectionImage image =
        section([](const Vec2& p) { return disc(Vec2(p.x() / 3, p.y()), 0.3); });
    const auto waist = find_waist(image, setting(), 0);
    EXPECT_LT(waist ? waist->depth : 0, 0.02);
}

}  // namespace
}  // namespace anfract::tracing
