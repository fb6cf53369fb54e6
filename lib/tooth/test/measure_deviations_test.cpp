#include "anfract/tooth/measure_deviations.h"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <numbers>

#include "anfract/base/json_document.h"
#include "anfract/tooth/measures_json.h"
#include "anfract/tooth/tooth_file.h"
#include "canals.h"

namespace anfract {
namespace {

/// A lower first molar whose canal bends by 60 degrees at a radius of 5 mm, in the plane that a
/// radiograph shows.
Tooth bent_tooth(double point_sd_mm, double correlation_mm) {
    Tooth tooth;
    tooth.fdi = "46";
    std::vector<Vec3> points;
    // Mesial is forward, -y, and apical -z for a lower tooth.
    for (const Vec3& p : flat_curve({{10}, arc(5, 60)}, 0.2))
        points.emplace_back(0, -p.x(), -p.z());
    tooth.canals.push_back(canal_through(points));
    Canal& canal = tooth.canals.front();
    canal.point_correlation_mm = correlation_mm;
    for (CanalSample& sample : canal.samples) sample.point_sd_mm = point_sd_mm;
    return tooth;
}

ToothMeasures with_deviations(const Tooth& tooth) {
    ToothMeasures measures = *measure(tooth);
    add_deviations(tooth, measures);
    return measures;
}

// Turning and bending are what stays when a curve is moved as a whole.
TEST(MeasureDeviations, AreNoneWhenTheWholeCanalIsOffByTheSame) {
    const ToothMeasures measures = with_deviations(bent_tooth(0.01, 1e5));
    const CanalMeasures& canal = measures.canals.front();
    EXPECT_LT(canal.clinical.sd->schneider_deg, 0.1);
    EXPECT_LT(canal.worst.sd->tangent_deg, 0.1);
    EXPECT_LT(*canal.clinical.sd->arc_radius_mm, 0.02);
    ASSERT_EQ(canal.bends.size(), 1U);
    EXPECT_LT(canal.bends.front().sd->angle_deg, 0.5);
}

// The end alone is off by 0.1 mm across: the chord from the departure, 2 r sin 30 degrees = 5 mm
// long, turns by 0.1 / 5 rad (closed form). 32 draws know a standard deviation to 13 %.
TEST(MeasureDeviations, OfTheSchneiderAngleFollowFromTheForamen) {
    Tooth tooth = bent_tooth(1e-5, 0.01);
    tooth.canals.front().samples.back().point_sd_mm = 0.1;
    const ToothMeasures measures = with_deviations(tooth);
    const double expected_deg = 0.1 / 5 * 180 / std::numbers::pi;
    const ViewMeasures& view = measures.canals.front().clinical;
    ASSERT_NEAR(view.schneider_deg, 30, 0.1);  // half of the 60 degrees, closed form
    EXPECT_NEAR(view.sd->schneider_deg, expected_deg, 0.4 * expected_deg);
}

TEST(MeasureDeviations, GrowWithThoseOfTheCentreline) {
    const auto radius_sd = [](double sd_mm) {
        return *with_deviations(bent_tooth(sd_mm, 0.4)).canals.front().clinical.sd->arc_radius_mm;
    };
    EXPECT_GT(radius_sd(0.02), 1.5 * radius_sd(0.005));
}

// A bend of 7 degrees, hardly more than counts as one, is straight in many of the lines drawn:
// there its curvature is off by all of it. Left out, they would make it look surer the fainter it
// is.
TEST(MeasureDeviations, OfABendsRadiusCountTheLinesThatDoNotShowIt) {
    std::vector<Vec3> points;
    for (const Vec3& p : flat_curve({{8}, arc(12, 7), {6}}, 0.2))
        points.emplace_back(0, -p.x(), -p.z());
    Tooth tooth;
    tooth.fdi = "46";
    tooth.canals = {canal_through(points)};
    tooth.canals.front().point_correlation_mm = 0.4;
    for (CanalSample& sample : tooth.canals.front().samples) sample.point_sd_mm = 0.008;
    const ToothMeasures measures = with_deviations(tooth);
    ASSERT_EQ(measures.canals.front().bends.size(), 1U);
    const Bend& bend = measures.canals.front().bends.front();
    EXPECT_GT(bend.sd->radius_mm, 0.4 * bend.radius_mm);
}

TEST(MeasureDeviations, AreLeftOutWhereTheFileStatesNone) {
    Tooth tooth = bent_tooth(0.01, 0.4);
    tooth.canals.front().point_correlation_mm.reset();
    EXPECT_FALSE(with_deviations(tooth).canals.front().clinical.sd);
    tooth = bent_tooth(0.01, 0.4);
    tooth.canals.front().samples[7].point_sd_mm = 0;
    EXPECT_FALSE(with_deviations(tooth).canals.front().clinical.sd);
}

TEST(MeasureDeviations, AreWrittenAndAreTheSameForTheToothReadAgain) {
    const Tooth tooth = bent_tooth(0.01, 0.4);
    const Tooth again = *tooth_from_json(tooth_to_json(tooth), "again");
    const auto document = measures_to_json(tooth, with_deviations(tooth));
    const auto checked = parse_document(document.dump(), "anfract.measures", "result");
    EXPECT_TRUE(checked) << checked.error().sentence();
    EXPECT_EQ(document, measures_to_json(again, with_deviations(again)));
    const auto& canal = document["canals"][0];
    EXPECT_GT(canal["views"]["clinical"]["schneider_sd_deg"], 0);
    EXPECT_GT(canal["views"]["clinical"]["access_sd_deg"], 0);
    EXPECT_GT(canal["views"]["worst"]["arc_radius_sd_mm"], 0);
    EXPECT_GT(canal["bends"][0]["radius_sd_mm"], 0);
}

}  // namespace
}  // namespace anfract
