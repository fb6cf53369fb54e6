#include "anfract/record/instant.h"

#include <gtest/gtest.h>

namespace anfract::record {
namespace {

TEST(Instant, ReadsOffsetsAndFractions) {
    // 2026-01-31T12:00:00Z is 1769860800 s after the epoch (date -u -d ... +%s, GNU coreutils).
    const auto noon = parse_instant("2026-01-31T12:00:00Z");
    ASSERT_TRUE(noon);
    EXPECT_EQ(noon->time_since_epoch().count(), 1'769'860'800'000);
    EXPECT_EQ(parse_instant("2026-01-31T13:00:00.000+01:00"), noon);
    EXPECT_EQ(parse_instant("2026-01-31T06:30:00-05:30"), noon);
    EXPECT_EQ(parse_instant("2026-01-31T12:00:00.25Z"), *noon + std::chrono::milliseconds(250));
    EXPECT_EQ(to_text(*noon), "2026-01-31T12:00:00.000Z");
}

TEST(Instant, RefusesWhatIsNoMoment) {
    for (const char* text :
         {"", "2026-01-31", "2026-02-30T12:00:00Z", "2026-13-01T12:00:00Z", "2026-01-31T24:00:00Z",
          "2026-01-31T12:00:00", "2026-01-31 12:00:00Z", "2026-01-31T12:00:00.Z",
          "2026-01-31T12:00:00Z ", "2026-01-31T12:00:00+1:00", "yesterday"})
        EXPECT_FALSE(parse_instant(text)) << text;
}

TEST(Instant, ComesBackFromItsText) {
    const std::string now = now_text();
    ASSERT_TRUE(parse_instant(now));
    EXPECT_EQ(to_text(*parse_instant(now)), now);
}

}  // namespace
}  // namespace anfract::record
