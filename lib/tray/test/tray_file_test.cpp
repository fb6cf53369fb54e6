#include "anfract/tray/tray_file.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <tuple>

#include "anfract/base/json_document.h"

namespace anfract {
namespace {

using nlohmann::json;
using testing::HasSubstr;

json one_device() {
    return json::parse(R"({"format": "anfract.tray", "version": 1, "devices": [{
        "id": "hand-010-25", "kind": "hand-file", "material": "stainless-steel", "section": "square",
        "tip_mm": 0.10, "taper": 0.02, "working_part_mm": 16, "length_mm": 25, "stock": 6, "max_uses": 1}]})");
}

std::string complaint_about(const json& document) {
    const auto parsed = parse_document(document.dump(), "anfract.tray", "tray.json");
    if (!parsed) return parsed.error().sentence();
    const auto tray = tray_from_json(*parsed, "tray.json");
    return tray ? "" : tray.error().sentence();
}

TEST(TrayFile, ReadsADevice) {
    const auto tray = tray_from_json(one_device(), "tray.json");
    ASSERT_TRUE(tray);
    const Device* device = tray->find("hand-010-25");
    ASSERT_NE(device, nullptr);
    EXPECT_EQ(device->kind, DeviceKind::HandFile);
    EXPECT_EQ(device->stock, 6);
    EXPECT_DOUBLE_EQ(device->diameter_mm_at(16), 0.42);
    EXPECT_EQ(tray->find("nothing"), nullptr);
}

TEST(TrayFile, TheGenericTraySurvivesARoundTrip) {
    const json first = tray_to_json(generic_tray());
    const auto parsed = parse_document(first.dump(), "anfract.tray", "tray.json");
    ASSERT_TRUE(parsed) << parsed.error().sentence();
    const auto tray = tray_from_json(*parsed, "tray.json");
    ASSERT_TRUE(tray) << tray.error().sentence();
    const Tray before = generic_tray();
    ASSERT_EQ(tray->devices.size(), before.devices.size());
    for (std::size_t i = 0; i < before.devices.size(); ++i) {
        const Device &was = before.devices[i], &is = tray->devices[i];
        EXPECT_EQ(is.id, was.id);
        EXPECT_EQ(is.name, was.name);
        EXPECT_EQ(is.kind, was.kind) << was.id;
        EXPECT_EQ(is.material.index(), was.material.index()) << was.id;
        EXPECT_EQ(is.section.name, was.section.name) << was.id;
        EXPECT_EQ(is.section.inertia_ratio, was.section.inertia_ratio) << was.id;
        EXPECT_EQ(std::tie(is.tip_mm, is.taper, is.working_part_mm, is.length_mm),
                  std::tie(was.tip_mm, was.taper, was.working_part_mm, was.length_mm))
            << was.id;
        EXPECT_EQ(
            std::tie(is.shaft_mm, is.bore_mm, is.diameters_mm, is.bending_moment_45deg_mNm),
            std::tie(was.shaft_mm, was.bore_mm, was.diameters_mm, was.bending_moment_45deg_mNm))
            << was.id;
        EXPECT_EQ(std::tie(is.tolerance_mm, is.stock, is.max_uses, is.life_used),
                  std::tie(was.tolerance_mm, was.stock, was.max_uses, was.life_used))
            << was.id;
    }
}

TEST(TrayFile, ADeviceGivenByItsDiametersHasTheTaperOfItsTip) {
    json document = one_device();
    json& device = document["devices"][0];
    for (const char* key : {"tip_mm", "taper", "working_part_mm"}) device.erase(key);
    device["diameters_mm"] = {{0, 0.25}, {3, 0.43}, {12, 0.79}};
    const auto tray = tray_from_json(document, "tray.json");
    ASSERT_TRUE(tray) << tray.error().sentence();
    EXPECT_DOUBLE_EQ(tray->devices[0].tip_mm, 0.25);
    EXPECT_NEAR(tray->devices[0].taper, 0.06, 1e-12);
    EXPECT_DOUBLE_EQ(tray->devices[0].working_part_mm, 12);
}

TEST(TrayFile, MaterialsGivenByNumbersSurviveARoundTrip) {
    json document = one_device();
    document["devices"][0]["material"] = {{"modulus_MPa", 41000.0}};
    json second = document["devices"][0];
    second["id"] = "other";
    second["material"] = {{"stress_strain", {{0, 0}, {0.01, 400}, {0.06, 450}}}};
    second["section"] = {{"inertia_ratio", 0.5}};
    second["bending_moment_45deg_mNm"] = 2.5;
    second["life_used"] = 0.3;
    document["devices"].push_back(second);
    const auto tray = tray_from_json(document, "tray.json");
    ASSERT_TRUE(tray);
    const json again = tray_to_json(*tray);
    EXPECT_EQ(again["devices"][0]["material"], document["devices"][0]["material"]);
    EXPECT_EQ(again["devices"][1]["material"], second["material"]);
    EXPECT_EQ(again["devices"][1]["section"], second["section"]);
    EXPECT_EQ(again["devices"][1]["bending_moment_45deg_mNm"], 2.5);
    EXPECT_EQ(again["devices"][1]["life_used"], 0.3);
}

TEST(TrayFile, ComplainsInOneSentenceAboutWhatCannotBe) {
    json twice = one_device();
    twice["devices"].push_back(twice["devices"][0]);
    EXPECT_THAT(complaint_about(twice), HasSubstr("two devices have the id 'hand-010-25'"));

    json longer = one_device();
    longer["devices"][0]["working_part_mm"] = 26;
    EXPECT_THAT(complaint_about(longer), HasSubstr("working part is longer"));

    json solid = one_device();
    solid["devices"][0]["bore_mm"] = 0.43;
    EXPECT_THAT(complaint_about(solid), HasSubstr("bore_mm is not smaller"));

    json falling = one_device();
    falling["devices"][0]["diameters_mm"] = {{0, 0.1}, {4, 0.2}, {4, 0.3}};
    EXPECT_THAT(complaint_about(falling), HasSubstr("distances that do not rise"));

    json flat = one_device();
    flat["devices"][0]["material"] = {{"stress_strain", {{0, 0}, {0.01, 400}, {0.02, 300}}}};
    EXPECT_THAT(complaint_about(flat), HasSubstr("a stress that falls"));

    json kindless = one_device();
    kindless["devices"][0].erase("kind");
    EXPECT_THAT(complaint_about(kindless), HasSubstr("kind"));

    json negative = one_device();
    negative["devices"][0]["tip_mm"] = -0.1;
    EXPECT_THAT(complaint_about(negative), HasSubstr("tip_mm"));
}

}  // namespace
}  // namespace anfract
