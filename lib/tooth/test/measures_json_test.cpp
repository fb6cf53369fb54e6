#include "anfract/tooth/measures_json.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "anfract/base/json_document.h"
#include "canals.h"

namespace anfract {
namespace {

Tooth tooth_with_two_canals() {
    Tooth tooth;
    tooth.fdi = "36";
    tooth.reference_P = {0, 0, -8};
    tooth.findings = {"A remark."};
    tooth.canals.push_back(canal_through(flat_curve({{8}, arc(5, 40), {2}}, 0.2), "MB"));
    tooth.canals.push_back(canal_through(flat_curve({{12}}, 0.2), "D"));
    for (Canal& canal : tooth.canals) {
        for (CanalSample& s : canal.samples) {
            s.depth_mm += 8;
            s.wall_min_mm = 1.5;
            s.wall_min_toward = {0, 1, 0};
        }
        canal.depth_to_foramen_mm += 8;
    }
    return tooth;
}

TEST(MeasuresJson, FollowsItsSchema) {
    for (const char* fdi : {"36", ""}) {
        Tooth tooth = tooth_with_two_canals();
        tooth.fdi = fdi;
        const auto document = measures_to_json(tooth, *measure(tooth));
        const auto checked = parse_document(document.dump(), "anfract.measures", "result");
        EXPECT_TRUE(checked) << checked.error().sentence();
    }
}

TEST(MeasuresJson, CountsDepthsFromTheReferencePoint) {
    const Tooth tooth = tooth_with_two_canals();
    const auto document = measures_to_json(tooth, *measure(tooth));
    const auto& bend = document["canals"][0]["bends"][0];
    EXPECT_NEAR(bend["from_mm"].get<double>(), 16.0, 0.1);
    EXPECT_EQ(bend["toward_name"], "B");
    EXPECT_NEAR(bend["plane_turn_deg"].get<double>(), 90, 1);
    EXPECT_EQ(document["canals"][0]["thinnest_wall"]["toward_name"], "D");
    EXPECT_EQ(document["canals"][1]["root"], "D");
    EXPECT_FALSE(document["canals"][1].contains("least_radius_mm"));
    EXPECT_EQ(document["code"], "2 36 M1 D1");
    EXPECT_EQ(document["tooth"]["universal"], "19");
    EXPECT_EQ(document["findings"][0], "A remark.");
}

TEST(MeasuresJson, CarriesCautions) {
    Tooth tooth = tooth_with_two_canals();
    EXPECT_THAT(measures_to_json(tooth, *measure(tooth))["cautions"].dump(),
                testing::HasSubstr("apex locator"));
    tooth.fdi = "";
    EXPECT_THAT(measures_to_json(tooth, *measure(tooth))["cautions"].dump(),
                testing::HasSubstr("tooth number is not given"));
}

}  // namespace
}  // namespace anfract
