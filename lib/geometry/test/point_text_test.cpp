#include "anfract/geometry/point_text.h"

#include <gtest/gtest.h>

namespace anfract {

TEST(ParsePoint, ReadsThreeNumbers) {
    EXPECT_EQ(parse_point("1.5,-20,33", "--inside").value(), Vec3(1.5, -20, 33));
}

TEST(ParsePoint, RefusesAnythingElseAndNamesTheOption) {
    for (const char* text :
         {"", "1,2", "1,2,3,4", "1,2,3 ", " 1,2,3", "1;2;3", "nan,0,0", "1e999,0,0", "a,b,c"}) {
        const auto point = parse_point(text, "--inside");
        ASSERT_FALSE(point) << text;
        EXPECT_EQ(point.error().where, "--inside");
    }
}

}  // namespace anfract
