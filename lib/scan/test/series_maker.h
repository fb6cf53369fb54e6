#pragma once

#include <filesystem>
#include <functional>
#include <string>
#include <vector>

#include "anfract/scan/read_scan.h"

class DcmDataset;

namespace anfract::test {

namespace fs = std::filesystem;

/// A folder that is gone with the test.
class TestFolder {
  public:
    TestFolder();
    TestFolder(const TestFolder&) = delete;
    TestFolder& operator=(const TestFolder&) = delete;
    ~TestFolder();
    const fs::path& path() const { return path_; }
    fs::path operator/(const std::string& name) const { return path_ / name; }

  private:
    fs::path path_;
};

/// A series to be written; the voxels are random over the whole range of the pixel layout.
struct Series {
    std::array<int, 3> size{24, 20, 7};
    Vec3 spacing_mm{0.2, 0.25, 0.3};
    Vec3 origin_P{-12.5, 30.25, 7.125};
    Mat3 direction = Mat3::Identity();
    int bits_allocated = 16;
    int bits_stored = 16;
    int high_bit = 15;
    bool is_signed = true;
    double slope = 1;
    double intercept = 0;
    std::string series_uid = "1.2.826.0.1.3680043.9.1";
    std::string description = "test";
    unsigned seed = 1;
    /// Changes one slice before it is written; the slice is left out when this returns false.
    std::function<bool(DcmDataset&, int slice)> edit;
};

/// What a correct reader must give for the series.
Volume truth_of(const Series& series);

/// Writes one file per slice, numbered in an order of their own, in Explicit VR Little Endian.
void write_series(const fs::path& folder, const Series& series);

/// Writes one multi-frame file: with functional groups (enhanced) or without.
void write_multi_frame(const fs::path& file, const Series& series, bool enhanced);

/// Geometry to 1e-6 mm, and every grey value the same.
void expect_same(const Volume& volume, const Volume& truth);

/// Runs a command line and gives its exit code; its output is thrown away.
int run(const std::string& command);

/// Runs `command` on every file of `from` as `command FROM/x TO/x`.
void convert(const std::string& command, const fs::path& from, const fs::path& to);

Result<OpenedScan> open(const fs::path& path, const std::string& series_uid = {},
                        unsigned threads = 0);

}  // namespace anfract::test
