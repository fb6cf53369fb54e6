#include "candidates.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace anfract {
namespace {

Device file(const std::string& id, double length_mm) {
    Device device;
    device.id = id;
    device.kind = DeviceKind::RotaryFile;
    device.material = NamedMaterial::NitiMartensitic;
    device.tip_mm = 0.25;
    device.taper = 0.06;
    device.working_part_mm = 16;
    device.length_mm = length_mm;
    return device;
}

std::vector<std::string> kept(const std::vector<Device>& devices, std::size_t most = 120) {
    std::vector<std::string> ids;
    Tray tray;
    tray.devices = devices;
    for (const Device* device : cutting_candidates(tray, 18, 2, most).devices)
        ids.push_back(device->id);
    return ids;
}

TEST(Candidates, OfThoseThatDifferInLengthAloneTheShortestIsTried) {
    EXPECT_THAT(kept({file("31", 31), file("21", 21), file("25", 25)}), testing::ElementsAre("21"));
}

TEST(Candidates, WhatBendsOrCutsOtherwiseIsAnotherInstrument) {
    Device table = file("table", 25), section = file("section", 25), tested = file("tested", 25),
           table_of_stress = file("stress", 25), used = file("used", 25);
    table.diameters_mm = {{0, 0.25}, {4, 0.49}, {16, 0.6}};
    section.section = {"custom", 0.3};
    tested.bending_moment_45deg_mNm = 1.1;
    table_of_stress.material = TabulatedMaterial{{{0, 0}, {0.01, 300}, {0.06, 400}}};
    used.life_used = 0.7;
    EXPECT_THAT(
        kept({file("plain", 25), table, section, tested, table_of_stress, used}),
        testing::UnorderedElementsAre("plain", "table", "section", "tested", "stress", "used"));
}

TEST(Candidates, AHugeTrayIsThinnedToWhatHandsTellApart) {
    std::vector<Device> many;
    for (int i = 0; i < 500; ++i) {
        many.push_back(file("f" + std::to_string(i), 25));
        many.back().tip_mm = 0.1 + 0.0005 * i;
    }
    const auto ids = kept(many, 60);
    EXPECT_LE(ids.size(), 60u);
    EXPECT_GE(ids.size(), 10u);
}

}  // namespace
}  // namespace anfract
