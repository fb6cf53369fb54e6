#include "text.h"

#include <cairo-pdf.h>
#include <gtest/gtest.h>

namespace anfract {
namespace {

class TextTest : public ::testing::Test {
  protected:
    TextTest()
        : surface_(cairo_recording_surface_create(CAIRO_CONTENT_COLOR_ALPHA, nullptr)),
          cr_(cairo_create(surface_)) {}
    ~TextTest() override {
        cairo_destroy(cr_);
        cairo_surface_destroy(surface_);
    }
    cairo_surface_t* surface_;
    cairo_t* cr_;
};

TEST_F(TextTest, WrapsWithinItsWidth) {
    const Text text(cr_,
                    "several words that need more than one line, andonewordthatislongerthanallofit",
                    {}, 60);
    EXPECT_LE(text.width_pt(), 60.5);
    EXPECT_GT(text.height_pt(), 30);
}

TEST_F(TextTest, DigitsAreAllEquallyWide) {
    EXPECT_NEAR(Text(cr_, "11111", {}).width_pt(), Text(cr_, "80808", {}).width_pt(), 0.01);
}

TEST_F(TextTest, OneLineIsCutRatherThanWrapped) {
    TextStyle style;
    style.one_line = true;
    const Text text(cr_, "a name that is far too long for its column", style, 50);
    EXPECT_TRUE(text.was_cut());
    EXPECT_LT(text.height_pt(), 16);
}

TEST(TextWords, MarkupIsEscaped) { EXPECT_EQ(escaped("a<b & c"), "a&lt;b &amp; c"); }

}  // namespace
}  // namespace anfract
