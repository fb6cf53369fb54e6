#include "depth_search.h"

#include <gtest/gtest.h>

namespace anfract {
namespace {

constexpr double orifice_mm = 8, inside_mm = 0.4, end_mm = 20;

/// A device whose load over its limit, and the depths where an equilibrium is found, are given.
struct Way {
    std::function<double(double depth_mm)> rough_ratio, fine_ratio;
    std::function<bool(double depth_mm)> rough_found, fine_found;

    Probe at(double depth_mm, bool fine) const {
        if (depth_mm < orifice_mm + inside_mm) return {depth_mm};
        if (!fine && !rough_found(depth_mm)) fine = true;
        if (fine && !fine_found(depth_mm)) return Probe::unknown(depth_mm);
        return {depth_mm, (fine ? fine_ratio : rough_ratio)(depth_mm), true, fine, Held{}};
    }
    WayDown find() const {
        return find_way_down(orifice_mm, inside_mm, at(end_mm, true),
                             {[this](double depth_mm, const Probe*) { return at(depth_mm, false); },
                              [this](const Probe& before) { return at(before.depth_mm, true); }});
    }
};

double loose(double /*depth_mm*/) { return 0.3; }
bool always(double /*depth_mm*/) { return true; }

TEST(DepthSearch, EndsWhereTheLoadMeetsItsLimit) {
    const auto ratio = [](double depth_mm) { return (depth_mm - 8) / 5; };
    const WayDown way = Way{ratio, ratio, always, always}.find();
    ASSERT_TRUE(way.bad);
    EXPECT_TRUE(way.good.fine && way.bad->fine && way.bad->known);
    EXPECT_LE(way.good.depth_mm, 13);
    EXPECT_GE(way.bad->depth_mm, 13);
    EXPECT_LE(way.bad->depth_mm - way.good.depth_mm, depth_tolerance_mm);
}

TEST(DepthSearch, ComesToTheEndWhereNothingIsInTheWay) {
    const WayDown way = Way{loose, loose, always, always}.find();
    EXPECT_FALSE(way.bad);
    EXPECT_EQ(way.good.depth_mm, end_mm);
}

// Was: what the solver left behind where it found nothing was taken for an answer.
TEST(DepthSearch, EndsAboveADepthAtWhichNothingIsKnown) {
    for (const double to_mm : {14.0, 30.0}) {  // with and without something known below
        const auto found = [&](double depth_mm) { return depth_mm < 11.3 || depth_mm > to_mm; };
        const WayDown way = Way{loose, loose, found, found}.find();
        ASSERT_TRUE(way.bad);
        EXPECT_FALSE(way.bad->known);
        EXPECT_TRUE(way.good.held && way.good.fine);
        EXPECT_LT(way.good.depth_mm, 11.3);
        EXPECT_GT(way.good.depth_mm, 11.3 - depth_tolerance_mm);
    }
}

TEST(DepthSearch, RestsOnNoCoarseAnswerThatTheFineOneDoesNotBearOut) {
    const auto stops = [](double depth_mm) { return depth_mm < 14 ? 0.5 : 2; };
    const auto found = [](double depth_mm) { return depth_mm < 10.7 || depth_mm > 14; };
    const WayDown way = Way{stops, stops, always, found}.find();
    ASSERT_TRUE(way.bad);
    EXPECT_FALSE(way.bad->known);
    EXPECT_TRUE(way.good.held && way.good.fine);
    EXPECT_NEAR(way.good.depth_mm, 10.7, depth_tolerance_mm);
}

TEST(DepthSearch, StaysAtTheOrificeWhereNothingIsKnownAtAll) {
    const auto never = [](double /*depth_mm*/) { return false; };
    const WayDown way = Way{loose, loose, never, never}.find();
    ASSERT_TRUE(way.bad);
    EXPECT_FALSE(way.bad->known);
    EXPECT_FALSE(way.good.held && way.good.depth_mm > orifice_mm + inside_mm);
}

}  // namespace
}  // namespace anfract
