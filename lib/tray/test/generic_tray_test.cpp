#include <gtest/gtest.h>

#include <set>

#include "anfract/tray/tray_file.h"

namespace anfract {
namespace {

TEST(GenericTray, HasEveryKindOfDeviceWithASource) {
    const Tray tray = generic_tray();
    EXPECT_FALSE(tray.sources.empty());
    std::set<DeviceKind> kinds;
    for (const Device& device : tray.devices) kinds.insert(device.kind);
    // Reciprocating files are rotary files under another motion; a user adds them to his own tray.
    EXPECT_EQ(kinds.size(), 10u);
    EXPECT_EQ(kinds.count(DeviceKind::ReciprocatingFile), 0u);
}

// [ISO3630-1]: d at 16 mm of sizes with taper .02 is d1 + 0.32; lengths 21, 25, 31.
TEST(GenericTray, HandFilesFollowTheStandard) {
    const Tray tray = generic_tray();
    for (const char* size : {"006", "008", "010", "015", "020", "025", "030", "035", "040"}) {
        for (const char* length : {"21", "25", "31"}) {
            const Device* file = tray.find(std::string("hand-") + size + "-" + length);
            ASSERT_NE(file, nullptr) << size;
            EXPECT_DOUBLE_EQ(file->diameter_mm_at(0), std::stoi(size) / 100.0);
            EXPECT_NEAR(file->diameter_mm_at(16), std::stoi(size) / 100.0 + 0.32, 1e-12);
            EXPECT_DOUBLE_EQ(file->length_mm, std::stod(length));
            EXPECT_DOUBLE_EQ(file->tolerance_mm, 0.02);
        }
    }
}

// [ISO9626], from memory: least and largest outside diameter, least bore of regular wall, mm.
TEST(GenericTray, CannulasLieInTheRangesOfTheTubingStandard) {
    struct Range {
        const char* id;
        double least, largest, least_bore;
    };
    const Tray tray = generic_tray();
    for (const Range& range : {Range{"cannula-27g-25", 0.400, 0.420, 0.184},
                               {"cannula-28g-25", 0.349, 0.370, 0.133},
                               {"cannula-29g-25", 0.324, 0.351, 0.133},
                               {"cannula-30g-25", 0.298, 0.320, 0.133},
                               {"cannula-31g-25", 0.254, 0.267, 0.114}}) {
        const Device* cannula = tray.find(range.id);
        ASSERT_NE(cannula, nullptr) << range.id;
        EXPECT_GE(cannula->tip_mm, range.least);
        EXPECT_LE(cannula->tip_mm, range.largest);
        EXPECT_GE(*cannula->bore_mm, range.least_bore);
    }
}

// The check file after a finish of 014 is 015, and the finish itself is in stock (common practice,
// no source).
TEST(GenericTray, HoldsTheHalfSizesOfNarrowCurvedCanals) {
    const Tray tray = generic_tray();
    for (const char* id :
         {"rotary-013-03-25", "rotary-014-03-25", "rotary-017-04-25", "rotary-014-02-31"}) {
        EXPECT_NE(tray.find(id), nullptr) << id;
    }
}

TEST(GenericTray, NoRotaryFileIsWiderThanItsShaft) {
    for (const Device& device : generic_tray().devices) {
        if (device.kind != DeviceKind::RotaryFile) continue;
        for (double x = 0; x <= device.length_mm; x += 0.5) {
            EXPECT_LE(device.diameter_mm_at(x), 1.0 + 1e-12) << device.id;
        }
    }
}

}  // namespace
}  // namespace anfract
