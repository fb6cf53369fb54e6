#include "anfract/exchange/print_file.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <zip.h>

#include <cstring>

#include "tube.h"

namespace anfract {
namespace {

using ::testing::HasSubstr;

// Binary STL (the format of the stereolithography interface specification of 1989, from memory): 80
// bytes of head, a count, and 50 bytes a triangle: normal, three corners, two bytes unused.
TEST(PrintFile, WritesBinaryStl) {
    const Surface box = exchange::box({0, 0, 0}, {1, 2, 3});
    const auto bytes = print_file(box, PrintFormat::Stl, "a box", "");
    ASSERT_TRUE(bytes);
    ASSERT_EQ(bytes->size(), 84 + 50 * box.triangles.size());
    std::uint32_t count = 0;
    std::memcpy(&count, bytes->data() + 80, 4);
    EXPECT_EQ(count, box.triangles.size());
    for (std::size_t k = 0; k < count; ++k) {
        float numbers[12];
        std::memcpy(numbers, bytes->data() + 84 + 50 * k, sizeof numbers);
        for (int corner = 0; corner < 3; ++corner) {
            const Vec3& p = box.vertices_P[static_cast<std::size_t>(box.triangles[k][corner])];
            for (int i = 0; i < 3; ++i) EXPECT_EQ(numbers[3 + 3 * corner + i], float(p[i]));
        }
    }
}

std::string entry_of(const std::string& archive, const char* name) {
    zip_source_t* source = zip_source_buffer_create(archive.data(), archive.size(), 0, nullptr);
    zip_t* zip = zip_open_from_source(source, ZIP_RDONLY, nullptr);
    zip_stat_t facts;
    if (!zip || zip_stat(zip, name, 0, &facts) != 0) return {};
    std::string text(facts.size, '\0');
    zip_file_t* file = zip_fopen(zip, name, 0);
    zip_fread(file, text.data(), text.size());
    zip_fclose(file);
    zip_discard(zip);
    return text;
}

// 3D Manufacturing Format, core specification 1.x: a package whose model part states its unit.
TEST(PrintFile, WritesAPackageWithUnitTitleAndNote) {
    const auto bytes = print_file(exchange::box({0, 0, 0}, {1, 2, 3}), PrintFormat::ThreeMf,
                                  "Tooth 34 <practice>", "invented & for practice only");
    ASSERT_TRUE(bytes);
    const std::string model = entry_of(*bytes, "3D/3dmodel.model");
    EXPECT_THAT(model, HasSubstr("unit=\"millimeter\""));
    EXPECT_THAT(model, HasSubstr("Tooth 34 &lt;practice&gt;"));
    EXPECT_THAT(model, HasSubstr("invented &amp; for practice only"));
    std::size_t vertices = 0;
    for (std::size_t at = model.find("<vertex "); at != std::string::npos;
         at = model.find("<vertex ", at + 1)) {
        ++vertices;
    }
    EXPECT_EQ(vertices, 8);
}

TEST(PrintFile, KnowsItsFormatsByName) {
    EXPECT_EQ(*print_format_of("a/b.STL"), PrintFormat::Stl);
    EXPECT_EQ(*print_format_of("b.3mf"), PrintFormat::ThreeMf);
    EXPECT_FALSE(print_format_of("b.obj"));
}

}  // namespace
}  // namespace anfract
