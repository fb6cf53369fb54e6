#include "findings.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

namespace anfract::tracing {
namespace {

/// A canal of 10 mm that is so many times as long as wide between depths of 6 and 9 mm, and round
/// elsewhere.
Tooth one_canal(double ratio) {
    Canal canal;
    canal.name = "main";
    for (double depth = 4; depth < 14; depth += 0.2) {
        CanalSample sample;
        sample.depth_mm = depth;
        sample.point_P = Vec3(0, 0, -depth);
        sample.diameter_mm = 0.5;
        const double here = depth > 5.9 && depth < 9.1 ? ratio : 1.0;
        sample.diameter_long_mm = 0.5 * std::sqrt(here);
        sample.diameter_short_mm = 0.5 / std::sqrt(here);
        canal.samples.push_back(sample);
    }
    canal.orifice_P = canal.samples.front().point_P;
    canal.foramen_P = canal.samples.back().point_P;
    canal.depth_to_foramen_mm = canal.samples.back().depth_mm;
    Tooth tooth;
    tooth.canals.push_back(canal);
    return tooth;
}

bool says_two_may_be_one(const Tooth& tooth) {
    TraceFacts facts;
    facts.least_width_mm = 0.2;
    const auto findings = findings_of(tooth, facts);
    return std::any_of(findings.begin(), findings.end(), [](const std::string& finding) {
        return finding.starts_with(
            "From a depth of 6.0 mm to 9.0 mm canal main is 2.5 times as long as wide or more");
    });
}

std::ptrdiff_t count_with(const std::vector<std::string>& findings, const std::string& part) {
    return std::count_if(findings.begin(), findings.end(), [&](const std::string& finding) {
        return finding.find(part) != std::string::npos;
    });
}

TEST(Findings, SayWhereALumenMayHoldTwoCanals) {
    EXPECT_TRUE(says_two_may_be_one(one_canal(2.52)));
    EXPECT_FALSE(says_two_may_be_one(one_canal(1.8)));
}

TEST(Findings, DoNotRuleOutACanalThatMayShareALumen) {
    const auto ends_with = [](double ratio, const std::string& end) {
        Tooth tooth = one_canal(ratio);
        tooth.fdi = "16";
        tooth.canals.front().name = "MB";
        TraceFacts facts;
        facts.least_width_mm = 0.2;
        const auto findings = findings_of(tooth, facts);
        return std::any_of(findings.begin(), findings.end(), [&](const std::string& finding) {
            return finding.starts_with("No second mesiobuccal canal was found") &&
                   finding.ends_with(end);
        });
    };
    EXPECT_TRUE(ends_with(1.8, ", narrower ones cannot be excluded."));
    EXPECT_TRUE(ends_with(2.52, ", narrower ones and one in a long lumen cannot be excluded."));
}

TEST(Findings, SayThatTheHeadMovedAndWhatMayBeASecondImage) {
    Tooth tooth = one_canal(1);
    tooth.fdi = "36";
    TraceFacts facts;
    facts.least_width_mm = 0.2;
    // Buccal of a lower left tooth is the patient's left, +x.
    facts.movement = Movement{Vec3(0.8, 0, 0), 0.2, Vec3(0, 0, 1), 1};
    facts.second_images = {{"ML", "MB"}};
    const auto double_edges = findings_of(tooth, facts);
    EXPECT_EQ(count_with(double_edges, "stand double, 0.8 mm apart between B and L"), 1);
    EXPECT_EQ(count_with(double_edges, "Canal ML lies as far beside canal MB"), 1);
    facts.second_images.clear();
    facts.movement = Movement{Vec3(0, 0, 0), 0, Vec3(0, 1, 0), 1.5};
    const auto softer = findings_of(tooth, facts);
    EXPECT_EQ(count_with(softer, "softer between D and M"), 1);
    EXPECT_EQ(count_with(softer, "stand double"), 0);
    facts.movement = Movement{};
    EXPECT_EQ(count_with(findings_of(tooth, facts), "head moves"), 0);
}

}  // namespace
}  // namespace anfract::tracing
