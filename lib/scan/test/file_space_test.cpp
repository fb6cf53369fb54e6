#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <array>
#include <bit>

#include "anfract/scan/read_scan.h"
#include "itk_expectations.h"

// Where files in the formats NRRD and NIfTI-1 say that they lie, written here byte by byte.
namespace anfract::test {
namespace {

using testing::Contains;
using testing::HasSubstr;

const std::string voxels(1024, 'x');  // 8 x 8 x 8 of two bytes

std::string nrrd(const std::string& fields) {
    return "NRRD0004\ntype: short\ndimension: 3\nsizes: 8 8 8\n" + fields +
           "encoding: raw\nendian: little\n\n" + voxels;
}

template <class T>
void put(std::string& bytes, std::size_t at, T value) {
    for (std::size_t n = 0; n < sizeof value; ++n) {
        bytes[at + n] = std::bit_cast<std::array<char, sizeof value>>(value)[n];
    }
}

/// A header of [Cox2004] with voxels of 0.2 mm whose affine is that of the patient's axes.
std::string nifti() {
    std::string file(352, '\0');
    put(file, 0, std::int32_t(348));
    for (const auto& [n, size] : {std::pair{0, 3}, {1, 8}, {2, 8}, {3, 8}, {4, 1}})
        put(file, 40 + 2 * std::size_t(n), std::int16_t(size));
    put(file, 70, std::int16_t(4));
    put(file, 72, std::int16_t(16));
    for (std::size_t n = 0; n < 4; ++n) put(file, 76 + 4 * n, n == 0 ? 1.F : 0.2F);
    put(file, 108, 352.F);
    put(file, 123, std::int8_t(2));
    put(file, 254, std::int16_t(1));
    for (std::size_t n = 0; n < 3; ++n) put(file, 280 + 20 * n, 0.2F);
    file.replace(344, 4, std::string("n+1\0", 4));
    return file + voxels;
}

OpenedScan opened(const PathMaker& paths, const std::string& name, const std::string& bytes) {
    paths.write(name, bytes);
    auto scan = open_scan(paths.path(name), {}, Progress());
    EXPECT_TRUE(scan) << scan.error().sentence();
    return scan ? std::move(*scan) : OpenedScan{};
}

// The three spaces with named axes [NRRD] say the same voxel by other signs.
TEST(FileSpace, AnNrrdLiesWhereItsSpaceSays) {
    const PathMaker paths;
    const Vec3 place(7.2, -4.4, 1.6);
    for (const char* fields :
         {"space: left-posterior-superior\nspace directions: (0.2,0,0) (0,0.3,0) (0,0,0.2)\n"
          "space origin: (7,-5,1)\n",
          "space: right-anterior-superior\nspace directions: (-0.2,0,0) (0,-0.3,0) (0,0,0.2)\n"
          "space origin: (-7,5,1)\n",
          "space: left-anterior-superior\nspace directions: (0.2,0,0) (0,-0.3,0) (0,0,0.2)\n"
          "space origin: (7,5,1)\n"}) {
        const OpenedScan scan = opened(paths, "a.nrrd", nrrd(fields));
        EXPECT_LT((scan.volume.geometry.to_patient(Vec3(1, 2, 3)) - place).norm(), 1e-9) << fields;
        EXPECT_THAT(scan.problems, testing::IsEmpty());
    }
}

TEST(FileSpace, AFileThatDoesNotSayHowItLiesIsReadAndItIsSaid) {
    const PathMaker paths;
    std::string none = nifti();
    put(none, 254, std::int16_t(0));
    EXPECT_THAT(opened(paths, "a.nii", none).problems, Contains(HasSubstr("left and right")));
    EXPECT_THAT(opened(paths, "b.nii", nifti()).problems, testing::IsEmpty());
    EXPECT_THAT(opened(paths, "a.nrrd", nrrd("spacings: 0.2 0.2 0.2\n")).problems,
                Contains(HasSubstr("left and right")));
}

TEST(FileSpace, ANiftiInMetresOrWithoutSizeIsRefused) {
    const PathMaker paths;
    std::string metres = nifti(), flat = nifti();
    put(metres, 123, std::int8_t(1));
    put(flat, 84, 0.F);
    paths.write("metres.nii", metres);
    paths.write("flat.nii", flat);
    expect_refused(paths.path("metres.nii"), "not in millimetres");
    expect_refused(paths.path("flat.nii"), "have no size");
}

}  // namespace
}  // namespace anfract::test
