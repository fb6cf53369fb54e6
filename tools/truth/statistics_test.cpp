#include "statistics.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "anfract/phantom/random.h"
#include "random_report.h"

namespace anfract::truth {
namespace {

CanalError canal_with(double width_mm, double presence) {
    CanalError canal;
    canal.least_width_mm = width_mm;
    canal.presence = presence;
    if (presence > 0) canal.traced_name = "A";
    return canal;
}

// The worked examples of [Newcombe1998], Table I, method 3.
TEST(Share, HasTheIntervalOfWilson) {
    const Share shares[]{{81, 263}, {15, 148}, {0, 20}, {1, 29}};
    const double lows[]{0.2553, 0.0624, 0.0, 0.0061}, highs[]{0.3662, 0.1605, 0.1611, 0.1718};
    for (int i = 0; i < 4; ++i) {
        EXPECT_NEAR(shares[i].low(), lows[i], 5e-5);
        EXPECT_NEAR(shares[i].high(), highs[i], 5e-5);
    }
}

TEST(Statistics, CountsWhatWasFoundMissedAndInvented) {
    Trial run;
    run.error.canals = {canal_with(0.2, 0.9), canal_with(0.2, 0.3), canal_with(0.2, 0)};
    run.error.roots = {{"M", 2}, {"D", 1}};
    run.error.invented = {{"X", 0.4, 1}, {"Y", 0.8, 0}};
    const Statistics s = statistics_of({run});
    EXPECT_EQ(s.missed_stated, 2);
    EXPECT_EQ(s.found_possible, 1);
    EXPECT_EQ(s.invented_stated, 1);
    EXPECT_EQ(s.invented_possible, 1);
    // At 0.5 one canal of three is stated, and the only root of one canal holds no second.
    EXPECT_EQ(at_threshold(s.all, 0.5).sensitivity.hits, 1);
    EXPECT_EQ(at_threshold(s.all, 0.5).sensitivity.count, 3);
    EXPECT_EQ(at_threshold(s.all, 0.5).specificity.hits, 1);
    EXPECT_EQ(at_threshold(s.all, 0.5).specificity.count, 1);
    // At 0.3 two are, and the second canal of presence 0.4 in root D is invented.
    EXPECT_EQ(at_threshold(s.all, 0.3).sensitivity.hits, 2);
    EXPECT_EQ(at_threshold(s.all, 0.3).specificity.hits, 0);
}

TEST(Statistics, CoversAsOftenAsTheErrorsAreNormal) {
    Random random(1, 1);
    Trial run;
    run.error.canals = {canal_with(0.2, 1)};
    for (int i = 0; i < 4000; ++i) {
        run.error.canals[0].widths.push_back({0.3, 0.3 + 0.02 * random.normal(), 0.02});
    }
    const Statistics s = statistics_of({run});
    const Coverage& middle = s.coverage[2];
    EXPECT_EQ(middle.inside.count, 4000);
    // The share of 4000 draws has a standard deviation of 0.0034.
    EXPECT_NEAR(middle.inside.value(), 0.95, 0.012);
    EXPECT_NEAR(middle.error_over_sd_rms, 1, 0.04);
}

// The quick form of what fills docs/performance.md.
TEST(RandomTeeth, AreTracedComparedAndWrittenUp) {
    PhantomOptions options;
    options.voxel_mm = 0.16;
    const std::vector<PhantomOptions> drawn = draw_phantoms(6, 1, options);
    const std::vector<Trial> runs = trace_phantoms(drawn, 0, [](const Trial&) {});
    const Statistics s = statistics_of(runs);
    EXPECT_EQ(s.teeth, 6);
    EXPECT_EQ(s.failed, 0);
    EXPECT_GE(s.canals, 6);
    EXPECT_LE(s.missed_stated, s.canals / 4);
    EXPECT_EQ(runs[3].options.seed, draw_phantoms(6, 1, options)[3].seed);
    const nlohmann::json written = nlohmann::json::parse(json_of(s, runs));
    EXPECT_EQ(written["runs"].size(), 6U);
    EXPECT_THAT(markdown_of(s), testing::HasSubstr("| stated presence |"));
}

}  // namespace
}  // namespace anfract::truth
