#include "anfract/tooth/tooth_file.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <functional>
#include <limits>
#include <nlohmann/json.hpp>

#include "anfract/base/json_document.h"

namespace anfract {
namespace {

using nlohmann::json;
using testing::AllOf;
using testing::HasSubstr;

/// What a person would write by hand: only the required keys. An arc of radius 8 mm from depth 8
/// on.
json minimal_tooth() {
    json samples;
    for (int i = 0; i <= 50; ++i) {
        const double s = 0.2 * i;
        samples["depth_mm"].push_back(8 + s);
        samples["point_mm"].push_back({8 - 8 * std::cos(s / 8), 0, 8 + 8 * std::sin(s / 8)});
        samples["diameter_mm"].push_back(0.6 - 0.03 * s);
    }
    return {{"format", "anfract.tooth"},
            {"version", 1},
            {"frame", "LPS-mm"},
            {"tooth", {{"fdi", "36"}}},
            {"reference_mm", {0, 0, 0}},
            {"canals",
             {{{"name", "MB"},
               {"orifice_mm", samples["point_mm"].front()},
               {"foramen_mm", samples["point_mm"].back()},
               {"length_mm", 10},
               {"depth_to_foramen_mm", 18},
               {"samples", samples}}}}};
}

json& samples_of(json& document) { return document["canals"][0]["samples"]; }

Result<Tooth> read_back(const json& document) {
    return parse_document(document.dump(), "anfract.tooth", "tooth.json")
        .and_then([](const json& parsed) { return tooth_from_json(parsed, "tooth.json"); });
}

/// The one sentence a user sees after `spoil` was done to a good file.
std::string sentence_after(const std::function<void(json&)>& spoil) {
    json document = minimal_tooth();
    spoil(document);
    const auto tooth = read_back(document);
    return tooth ? "no error" : tooth.error().sentence();
}

TEST(ToothFile, FillsWhatAHandMadeFileLeavesOut) {
    const auto tooth = read_back(minimal_tooth());
    ASSERT_TRUE(tooth) << tooth.error().sentence();
    const Canal& canal = tooth->canals.front();
    EXPECT_FALSE(canal.presence);
    EXPECT_FALSE(canal.depth_sd_mm);
    EXPECT_TRUE(tooth->findings.empty());
    for (const CanalSample& s : canal.samples) {
        EXPECT_DOUBLE_EQ(s.diameter_short_mm, s.diameter_mm);
        EXPECT_DOUBLE_EQ(s.diameter_long_mm, s.diameter_mm);
        EXPECT_FALSE(s.wall_min_mm);
        // A circle of radius 8 mm bends by 1/8 per mm everywhere.
        EXPECT_NEAR(s.curvature_per_mm, 0.125, 1e-3);
    }
}

TEST(ToothFile, FillsTheOtherAxisOfAnOvalFromTheArea) {
    json document = minimal_tooth();
    for (const json& d : samples_of(document)["diameter_mm"]) {
        samples_of(document)["diameter_short_mm"].push_back(d.get<double>() / 2);
    }
    const auto tooth = read_back(document);
    ASSERT_TRUE(tooth) << tooth.error().sentence();
    const CanalSample& s = tooth->canals[0].samples[3];
    EXPECT_NEAR(s.diameter_long_mm, 2 * s.diameter_mm, 1e-12);
}

Tooth full_tooth() {
    Tooth tooth = *read_back(minimal_tooth());
    tooth.invented = true;
    tooth.scan = ScanFacts{"1.2.3", {0.1, 0.1, 0.2}, 70, 0.25};
    tooth.findings = {"No second mesiobuccal canal was found."};
    tooth.possible = {PossibleCanal{0.3, {0, 1, 9}, {0, 2, 14}, 9.5, "MB", 1.8, "P", 2.1}};
    tooth.surface = Surface{{{0, 0, 0}, {1, 0, 0}, {0, 1, 0}, {0, 0, 1}},
                            {{0, 2, 1}, {0, 1, 3}, {1, 2, 3}, {0, 3, 2}}};
    tooth.chamber = tooth.surface;
    Canal second = tooth.canals[0];
    second.name = "ML";
    second.joins = Branching{"MB", 15};
    second.presence = 0.7;
    second.by_hand = true;
    second.depth_sd_mm = 0.12;
    WallSheet sheet;
    sheet.theta_count = 4;
    for (CanalSample& s : second.samples) {
        s.diameter_sd_mm = 0.02;
        s.long_axis_deg = 30;
        s.wall_min_mm = 1.1;
        s.wall_min_toward = {0, 1, 0};
        sheet.first_direction.push_back({0, 1, 0});
        sheet.wall_mm.push_back({1.1, 1.2, 1.3, 1.4});
    }
    second.wall_sheet = sheet;
    tooth.canals.push_back(second);
    return tooth;
}

TEST(ToothFile, WritesAndReadsBackTheSame) {
    const Tooth tooth = full_tooth();
    const auto path = std::filesystem::path(testing::TempDir()) / "tooth_round_trip.json";
    const auto written = write_tooth(path, tooth);
    ASSERT_TRUE(written) << written.error().sentence();
    const auto back = read_tooth(path);
    ASSERT_TRUE(back) << back.error().sentence();
    EXPECT_EQ(tooth_to_json(*back), tooth_to_json(tooth));
    const Canal& canal = back->canals.at(1);
    EXPECT_EQ(canal.joins->canal, "MB");
    EXPECT_DOUBLE_EQ(*canal.presence, 0.7);
    EXPECT_TRUE(canal.by_hand);
    EXPECT_DOUBLE_EQ(canal.samples[5].wall_min_toward.y(), 1.0);
    EXPECT_DOUBLE_EQ(canal.wall_sheet->wall_mm[7][2], 1.3);
    EXPECT_EQ(back->surface->triangles.size(), 4u);
    ASSERT_EQ(back->possible.size(), 1u);
    EXPECT_EQ(back->possible[0].last_sign_P, Vec3(0, 2, 14));
    EXPECT_DOUBLE_EQ(back->possible[0].floor_left_mm, 2.1);
    EXPECT_TRUE(back->invented);
    EXPECT_EQ(back->scan->series_uid, "1.2.3");
    std::filesystem::remove(path);
}

TEST(ToothFile, KeepsUnknownKeysFromBeingAnError) {
    EXPECT_EQ(sentence_after([](json& d) { d["canals"][0]["colour"] = "teal"; }), "no error");
}

TEST(ToothFile, BringsLongAxisIntoHalfATurn) {
    json document = minimal_tooth();
    for (std::size_t i = 0; i < 51; ++i) samples_of(document)["long_axis_deg"].push_back(-10);
    EXPECT_DOUBLE_EQ(read_back(document)->canals[0].samples[0].long_axis_deg, 170);
}

TEST(ToothFile, SaysWhenDepthsDoNotStartFromTheReference) {
    json document = minimal_tooth();
    document["reference_mm"] = {0, 0, 3};
    const auto tooth = read_back(document);
    ASSERT_TRUE(tooth);
    ASSERT_EQ(tooth->findings.size(), 1u);
    EXPECT_THAT(tooth->findings[0], HasSubstr("start at 8.00 mm"));
    // Reading what was written must not say it twice.
    EXPECT_EQ(read_back(tooth_to_json(*tooth))->findings.size(), 1u);
}

TEST(ToothFile, RefusesArraysOfUnequalLength) {
    EXPECT_THAT(sentence_after([](json& d) { samples_of(d)["diameter_mm"].erase(0); }),
                AllOf(HasSubstr("tooth.json"), HasSubstr("canals[0].samples.diameter_mm"),
                      HasSubstr("50"), HasSubstr("51")));
}

TEST(ToothFile, RefusesDepthsThatDoNotRise) {
    EXPECT_THAT(sentence_after([](json& d) { samples_of(d)["depth_mm"][7] = 9.2; }),
                AllOf(HasSubstr("canal MB"), HasSubstr("does not rise after 9.20 mm")));
}

TEST(ToothFile, RefusesAnEmptyCanal) {
    EXPECT_THAT(sentence_after([](json& d) {
                    for (auto& [key, array] : samples_of(d).items()) array = json::array();
                }),
                AllOf(HasSubstr("canal MB"), HasSubstr("0 entries")));
}

TEST(ToothFile, RefusesAJoinToAMissingCanal) {
    EXPECT_THAT(sentence_after(
                    [](json& d) { d["canals"][0]["joins"] = {{"canal", "ML"}, {"depth_mm", 12}}; }),
                AllOf(HasSubstr("'joins'"), HasSubstr("'ML'")));
    EXPECT_THAT(sentence_after([](json& d) {
                    d["canals"][0]["leaves"] = {{"canal", "MB"}, {"depth_mm", 12}};
                }),
                AllOf(HasSubstr("'leaves'"), HasSubstr("'MB'")));
}

TEST(ToothFile, RefusesJoinsThatLeadRoundInACircle) {
    EXPECT_THAT(sentence_after([](json& d) {
                    json second = d["canals"][0];
                    second["name"] = "ML";
                    second["joins"] = {{"canal", "MB"}, {"depth_mm", 12}};
                    d["canals"].push_back(second);
                    d["canals"][0]["joins"] = {{"canal", "ML"}, {"depth_mm", 12}};
                }),
                AllOf(HasSubstr("'joins'"), HasSubstr("circle")));
}

TEST(ToothFile, RefusesWhatLiesOrIsTooLargeForATooth) {
    EXPECT_THAT(sentence_after([](json& d) { samples_of(d)["diameter_mm"][3] = 1e300; }),
                HasSubstr("wider than a tooth"));
    EXPECT_THAT(sentence_after([](json& d) { d["reference_mm"] = {1000, 0, 0}; }),
                HasSubstr("reference_mm"));
}

TEST(ToothFile, RefusesNumbersThatAreNotFinite) {
    const std::string text = minimal_tooth().dump();
    std::string spoiled = text;
    const std::string key = "\"diameter_mm\":[";
    spoiled.replace(spoiled.find(key) + key.size(), 3, "NaN");
    const auto parsed = parse_document(spoiled, "anfract.tooth", "tooth.json");
    ASSERT_FALSE(parsed);
    EXPECT_THAT(parsed.error().sentence(), HasSubstr("diameter_mm"));
    json document = minimal_tooth();
    samples_of(document)["point_mm"][3][1] = std::numeric_limits<double>::quiet_NaN();
    EXPECT_THAT(tooth_from_json(document, "x").error().sentence(), HasSubstr("not finite"));
}

TEST(ToothFile, RefusesLengthsThatDisagree) {
    EXPECT_THAT(sentence_after([](json& d) { d["canals"][0]["length_mm"] = 12.1; }),
                HasSubstr("'length_mm' is 12.10 mm but the samples cover 10.00 mm"));
    EXPECT_THAT(sentence_after([](json& d) { d["canals"][0]["depth_to_foramen_mm"] = 10; }),
                HasSubstr("'depth_to_foramen_mm'"));
    EXPECT_THAT(sentence_after([](json& d) {
                    for (json& p : samples_of(d)["point_mm"]) p[2] = p[2].get<double>() / 10;
                }),
                HasSubstr("count depth along the centreline"));
    EXPECT_THAT(sentence_after([](json& d) { d["canals"][0]["foramen_mm"] = {0, 0, 0}; }),
                HasSubstr("first and last point"));
}

TEST(ToothFile, RefusesWhatCannotBeATooth) {
    EXPECT_THAT(sentence_after([](json& d) { d["tooth"]["fdi"] = "39"; }), HasSubstr("'39'"));
    EXPECT_THAT(sentence_after([](json& d) { samples_of(d)["diameter_mm"][0] = -1; }),
                HasSubstr("diameter_mm"));
    EXPECT_THAT(sentence_after([](json& d) { d["canals"].push_back(d["canals"][0]); }),
                HasSubstr("used twice"));
    EXPECT_THAT(sentence_after([](json& d) {
                    d["surface"] = {{"vertices_mm", {{0, 0, 0}}}, {"triangles", {{0, 0, 9}}}};
                }),
                HasSubstr("vertex 9 of 1"));
    EXPECT_THAT(sentence_after([](json& d) { d["canals"][0].erase("samples"); }),
                HasSubstr("samples"));
    EXPECT_THAT(sentence_after(
                    [](json& d) { samples_of(d)["point_mm"][4] = samples_of(d)["point_mm"][3]; }),
                HasSubstr("share the point"));
}

TEST(ToothFile, SurvivesADocumentThatWasNeverHeldAgainstItsSchema) {
    for (const json& document : {json(), json(3), json::object(), json{{"canals", 4}}}) {
        EXPECT_FALSE(tooth_from_json(document, "x"));
    }
}

}  // namespace
}  // namespace anfract
