#include "itk_expectations.h"

#include <gtest/gtest.h>

#include <Eigen/LU>
#include <cmath>
#include <fstream>

#include "series_maker.h"

namespace anfract::test {

struct PathMaker::Parts {
    TestFolder folder;
};

PathMaker::PathMaker() : parts_(std::make_unique<Parts>()) {}
PathMaker::~PathMaker() = default;

std::string PathMaker::path(const std::string& name) const {
    return (parts_->folder / name).string();
}

void PathMaker::cut(const std::string& name, std::size_t bytes) const {
    fs::resize_file(path(name), fs::file_size(path(name)) - bytes);
}

void PathMaker::write(const std::string& name, const std::string& bytes) const {
    std::ofstream(path(name), std::ios::binary) << bytes;
}

void expect_greys(const std::string& path, const std::array<int, 3>& size,
                  const std::vector<GreyAt>& greys, double tolerance) {
    const Result<OpenedScan> scan = open(path);
    ASSERT_TRUE(scan) << scan.error().sentence();
    EXPECT_EQ(scan->volume.geometry.size, size);
    EXPECT_NEAR(scan->volume.geometry.direction.determinant(), 1, 1e-9);
    for (const GreyAt& at : greys) {
        const Vec3 v =
            scan->volume.geometry.to_voxel(Vec3(at.point_P[0], at.point_P[1], at.point_P[2]));
        // NIfTI keeps its geometry in single precision.
        ASSERT_LT((v - Vec3(v.array().round())).norm(), 1e-4);
        EXPECT_NEAR(scan->volume.grey(int(std::lround(v.x())), int(std::lround(v.y())),
                                      int(std::lround(v.z()))),
                    at.grey, tolerance + 1e-9 * std::abs(at.grey));
    }
}

void expect_refused(const std::string& path, const std::string& part) {
    const Result<OpenedScan> scan = open(path);
    ASSERT_FALSE(scan);
    EXPECT_NE(scan.error().sentence().find(part), std::string::npos) << scan.error().sentence();
}

}  // namespace anfract::test
