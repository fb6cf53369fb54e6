// The seeds of one fuzzing program, given to it once by the ordinary tests.
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <string_view>

bool is_taken(std::string_view bytes);

/// Those named bad-... once broke something; the others are whole.
TEST(FuzzSeeds, AreTakenUnlessBad) {
    std::size_t whole = 0;
    for (const auto& entry : std::filesystem::directory_iterator(ANFRACT_SEEDS)) {
        const std::string name = entry.path().filename().string();
        SCOPED_TRACE(name);
        std::ifstream file(entry.path(), std::ios::binary);
        const bool taken = is_taken(std::string(std::istreambuf_iterator<char>(file), {}));
        if (name.starts_with("bad-")) continue;
        EXPECT_TRUE(taken);
        ++whole;
    }
    EXPECT_GE(whole, 4u);
}
