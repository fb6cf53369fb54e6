#include "anfract/base/result.h"

#include <gtest/gtest.h>

#include "anfract/base/angle.h"

namespace anfract {

TEST(Error, ReadsAsOneSentence) {
    const Error error{ErrorCode::BadInput, "slice 12 is missing", "scan/",
                      "export the series again"};
    EXPECT_EQ(error.sentence(), "scan/: slice 12 is missing; export the series again.");
    EXPECT_EQ((Error{ErrorCode::Io, "disk full", "", ""}).sentence(), "disk full.");
}

TEST(Result, CarriesValueOrError) {
    const Result<int> good = 3;
    const Result<int> bad = fail(ErrorCode::NotFound, "no tooth");
    EXPECT_EQ(*good, 3);
    EXPECT_EQ(bad.error().code, ErrorCode::NotFound);
}

TEST(Angle, ConvertsBothWays) {
    EXPECT_DOUBLE_EQ(Angle::degrees(180).rad(), std::numbers::pi);
    EXPECT_DOUBLE_EQ(Angle::radians(std::numbers::pi / 2).deg(), 90.0);
    EXPECT_LT(Angle::degrees(10), Angle::degrees(20));
}

}  // namespace anfract
