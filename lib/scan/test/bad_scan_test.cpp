#include <dcmtk/config/osconfig.h>
#include <dcmtk/dcmdata/dctk.h>
#include <gtest/gtest.h>
#include <zip.h>
#include <zlib.h>

#include <Eigen/Geometry>
#include <fstream>
#include <sstream>

#include "series_maker.h"

namespace anfract {

using test::open;
using test::Series;
using test::TestFolder;
using test::truth_of;
using test::write_multi_frame;
using test::write_series;

namespace {

std::string bytes_of(const test::fs::path& path) {
    std::ifstream file(path, std::ios::binary);
    std::ostringstream text;
    text << file.rdbuf();
    return text.str();
}

void write_bytes(const test::fs::path& path, const std::string& bytes) {
    std::ofstream(path, std::ios::binary) << bytes;
}

test::fs::path some_file(const test::fs::path& folder) {
    return test::fs::directory_iterator(folder)->path();
}

/// The scan must be refused, in one sentence that holds `part`.
void expect_refused(const test::fs::path& path, const std::string& part) {
    const Result<OpenedScan> scan = open(path);
    ASSERT_FALSE(scan) << "expected: " << part;
    const std::string sentence = scan.error().sentence();
    EXPECT_NE(sentence.find(part), std::string::npos) << sentence;
    EXPECT_EQ(sentence.find('\n'), std::string::npos) << sentence;
    EXPECT_NE(sentence.find(path.string()), std::string::npos) << sentence;
}

/// The scan must be read, with a problem that holds `part`.
Result<OpenedScan> expect_problem(const test::fs::path& path, const std::string& part) {
    Result<OpenedScan> scan = open(path);
    if (!scan) {
        ADD_FAILURE() << scan.error().sentence();
        return scan;
    }
    std::string all;
    for (const std::string& problem : scan->problems) all += problem + "\n";
    EXPECT_NE(all.find(part), std::string::npos) << "expected '" << part << "' in: " << all;
    return scan;
}

/// Writes a series after `edit` has had its way with each slice, and expects a refusal.
void expect_series_refused(const std::function<bool(DcmDataset&, int)>& edit,
                           const std::string& part, int slices = 7) {
    const TestFolder folder;
    Series series;
    series.size[2] = slices;
    series.edit = edit;
    write_series(folder.path(), series);
    expect_refused(folder.path(), part);
}

bool put(DcmDataset& d, const DcmTagKey& tag, const std::string& text) {
    return d.putAndInsertString(tag, text.c_str()).good();
}

/// Writes a zip whose entries have the given names and contents.
void write_zip(const test::fs::path& path,
               const std::vector<std::pair<std::string, std::string>>& entries) {
    zip_t* archive = zip_open(path.c_str(), ZIP_CREATE | ZIP_TRUNCATE, nullptr);
    ASSERT_NE(archive, nullptr);
    for (const auto& [name, bytes] : entries) {
        zip_source_t* source = zip_source_buffer(archive, bytes.data(), bytes.size(), 0);
        ASSERT_GE(zip_file_add(archive, name.c_str(), source, ZIP_FL_OVERWRITE), 0);
    }
    ASSERT_EQ(zip_close(archive), 0);
}

std::vector<std::pair<std::string, std::string>> entries_of(const test::fs::path& folder,
                                                            const std::string& prefix) {
    std::vector<std::pair<std::string, std::string>> entries;
    for (const auto& entry : test::fs::directory_iterator(folder)) {
        entries.push_back({prefix + entry.path().filename().string(), bytes_of(entry.path())});
    }
    return entries;
}

}  // namespace

TEST(BadScan, MissingSlicesAreNamed) {
    expect_series_refused(
        [](DcmDataset&, int k) { return k != 3; },
        "1 slice is missing: 1 between image 3 (f13-3.dcm) and image 5 (f23-5.dcm)");
    expect_series_refused([](DcmDataset&, int k) { return k != 3 && k != 4; },
                          "2 slices are missing: 2 between image 3", 10);
}

TEST(BadScan, ACopiedSliceIsLeftOutAndSaid) {
    const TestFolder folder;
    const Series series;
    write_series(folder.path(), series);
    test::fs::copy(some_file(folder.path()), folder / "copy.dcm");
    const auto scan = expect_problem(folder.path(), "1 doubled image(s) were left out");
    ASSERT_TRUE(scan);
    test::expect_same(scan->volume, truth_of(series));
}

TEST(BadScan, TwoDifferentSlicesAtOnePlaceAreRefused) {
    expect_series_refused(
        [](DcmDataset& d, int k) {
            return k != 4 || put(d, DCM_ImagePositionPatient, "-12.5\\30.25\\8.025");
        },
        "are there twice with different content");
}

TEST(BadScan, UnevenSpacingIsRefusedOrSaid) {
    // Slice 3 of a 0.3 mm grid, 0.12 mm off its place at 7.125 + 0.9.
    expect_series_refused(
        [](DcmDataset& d, int k) {
            return k != 3 || put(d, DCM_ImagePositionPatient, "-12.5\\30.25\\8.145");
        },
        "unevenly spaced");
    const TestFolder folder;
    Series series;
    series.edit = [](DcmDataset& d, int k) {
        return k != 3 || put(d, DCM_ImagePositionPatient, "-12.5\\30.25\\8.075");
    };
    write_series(folder.path(), series);
    expect_problem(folder.path(), "unevenly spaced");
}

TEST(BadScan, ATiltedGantryIsNamedWithItsAngle) {
    // Each slice is 0.3 mm further and 0.1 mm to the side: atan(1/3) = 18.4 degrees.
    expect_series_refused(
        [](DcmDataset& d, int k) {
            return put(
                d, DCM_ImagePositionPatient,
                std::to_string(-12.5 + 0.1 * k) + "\\30.25\\" + std::to_string(7.125 + 0.3 * k));
        },
        "the gantry was tilted: the slices are stacked at 18.4 degrees to their normal");
}

TEST(BadScan, SlicesWithoutPositionOrSpacingAreRefused) {
    expect_series_refused(
        [](DcmDataset& d, int) { return d.findAndDeleteElement(DCM_ImagePositionPatient).good(); },
        "has no position or orientation");
    expect_series_refused(
        [](DcmDataset& d, int) { return d.findAndDeleteElement(DCM_PixelSpacing).good(); },
        "has no usable pixel spacing");
}

TEST(BadScan, MixedSizesAndOrientationsAreRefusedAndOverviewsLeftOut) {
    expect_series_refused(
        [](DcmDataset& d, int k) {
            return k % 2 == 0 || put(d, DCM_ImageOrientationPatient, "0\\1\\0\\0\\0\\-1");
        },
        "mixes images of different size, orientation or pixel spacing", 10);
    const TestFolder folder;
    Series series;
    series.edit = [](DcmDataset& d, int k) {
        return k != 6 || put(d, DCM_ImageOrientationPatient, "0\\1\\0\\0\\0\\-1");
    };
    write_series(folder.path(), series);
    const auto scan =
        expect_problem(folder.path(), "1 image(s) of another size or orientation were left out");
    ASSERT_TRUE(scan);
    EXPECT_EQ(scan->volume.geometry.size[2], 6);
}

TEST(BadScan, ColourImagesAreRefused) {
    expect_series_refused(
        [](DcmDataset& d, int) {
            return d.putAndInsertUint16(DCM_SamplesPerPixel, 3).good() &&
                   put(d, DCM_PhotometricInterpretation, "RGB");
        },
        "it is a colour image (RGB), not a scan");
}

TEST(BadScan, CutOffFilesAreRefusedWhereverTheyEnd) {
    const TestFolder folder;
    Series series;
    series.size[2] = 1;
    write_series(folder / "whole", series);
    const std::string whole = bytes_of(some_file(folder / "whole"));
    for (const std::size_t length :
         {whole.size() - 1, whole.size() / 2, std::size_t{400}, std::size_t{140}}) {
        const auto path = folder / ("cut" + std::to_string(length) + ".dcm");
        write_bytes(path, whole.substr(0, length));
        expect_refused(path, "cut off");
    }
    // Encoded pixel data that end early.
    for (const char* command : {"dcmcrle", "dcmcjpls", "dcmcjpeg +e1", "dcmconv +td"}) {
        const auto coded = folder / "coded.dcm";
        ASSERT_EQ(test::run(std::string(command) + " " + some_file(folder / "whole").string() +
                            " " + coded.string()),
                  0);
        const std::string bytes = bytes_of(coded);
        write_bytes(folder / "short.dcm", bytes.substr(0, bytes.size() - 300));
        EXPECT_FALSE(open(folder / "short.dcm")) << command;
    }
    // A broken file among good ones is named as the reason for the gap.
    series.size[2] = 7;
    write_series(folder / "series", series);
    const auto victim = folder / "series/f18-4.dcm";
    const std::string slice = bytes_of(victim);
    write_bytes(victim, slice.substr(0, 300));
    expect_refused(folder / "series", "f18-4.dcm: its ");
    write_bytes(victim, slice.substr(0, slice.size() - 100));
    const std::string sentence = open(folder / "series").error().sentence();
    EXPECT_NE(sentence.find("f18-4.dcm: its pixel data are cut off"), std::string::npos)
        << sentence;
}

TEST(BadScan, WhatIsNoScanIsSaidSo) {
    const TestFolder folder;
    expect_refused(folder / "nowhere", "there is no such file or folder");
    test::fs::create_directory(folder / "empty");
    expect_refused(folder / "empty", "the folder is empty");
    write_bytes(folder / "letter.dcm", "Dear colleague, thank you for referring this patient.");
    expect_refused(folder / "letter.dcm", "it is not a DICOM image, NIfTI, NRRD or zip file");
    write_bytes(folder / "nothing", "");
    expect_refused(folder / "nothing", "it is not a DICOM image");
    test::fs::create_directory(folder / "texts");
    test::fs::copy(folder / "letter.dcm", folder / "texts/a.dcm");
    expect_refused(folder / "texts", "none of its 1 file(s) is a DICOM image");
}

// A header of 540 bytes, its size first, then the magic word "n+2\0\r\n\x1a\n" [NIfTI2]. It was
// once called damaged.
TEST(BadScan, WhereAFileLiesIsToldOnceHoweverLongItsPath) {
    const TestFolder folder;
    const test::fs::path deep = folder / std::string(150, 'x');
    test::fs::create_directory(deep);
    write_bytes(deep / "head.nrrd", "NRRD0004\ntype: short\ndimension: 3\n");
    const Result<OpenedScan> scan = open(deep / "head.nrrd");
    ASSERT_FALSE(scan);
    EXPECT_EQ(scan.error().what.find("xxx"), std::string::npos) << scan.error().what;
    EXPECT_NE(scan.error().what.find("the file"), std::string::npos) << scan.error().what;
}

TEST(BadScan, TheSecondVersionOfNiftiIsCalledByItsName) {
    const TestFolder folder;
    std::string bytes("\x1C\x02\0\0n+2\0\r\n\x1A\n", 12);
    bytes.resize(544);
    write_bytes(folder / "head.nii", bytes);
    expect_refused(folder / "head.nii", "NIfTI-2 is not read");
    expect_refused(folder / "head.nii", "convert the file to NIfTI-1");
    const gzFile packed = gzopen((folder / "head.nii.gz").c_str(), "wb");
    gzwrite(packed, bytes.data(), unsigned(bytes.size()));
    gzclose(packed);
    expect_refused(folder / "head.nii.gz", "NIfTI-2 is not read");
    write_bytes(folder / "short.nii", bytes.substr(0, 9));
    expect_refused(folder / "short.nii", "NIfTI-2 is not read");
}

TEST(BadScan, HostileHeadersAreRefusedWithoutHarm) {
    const TestFolder folder;
    Series series;
    series.edit = [](DcmDataset& d, int) {
        d.putAndInsertUint16(DCM_Rows, 65535);
        d.putAndInsertUint16(DCM_Columns, 65535);
        return true;
    };
    write_multi_frame(folder / "huge.dcm", series, true);
    expect_refused(folder / "huge.dcm", "65535");
    series.edit = [](DcmDataset& d, int) { return put(d, DCM_NumberOfFrames, "2147483647"); };
    write_multi_frame(folder / "frames.dcm", series, true);
    expect_refused(folder / "frames.dcm", "the number of frames is 2147483647");
    series.edit = [](DcmDataset& d, int) { return put(d, DCM_NumberOfFrames, "30000"); };
    write_multi_frame(folder / "more.dcm", series, false);
    expect_refused(folder / "more.dcm", "cut off");
    series.edit = [](DcmDataset& d, int) {
        return d.putAndInsertUint16(DCM_BitsStored, 31).good();
    };
    write_multi_frame(folder / "bits.dcm", series, false);
    expect_refused(folder / "bits.dcm", "bit numbers contradict");
    // Two hundred thousand nested items would exhaust the stack of a recursive parser.
    std::string deep(128, '\0');
    deep += "DICM";
    deep +=
        std::string("\x02\x00\x10\x00UI\x14\x00", 8) + "1.2.840.10008.1.2.1" + std::string(1, '\0');
    for (int n = 0; n < 200000; ++n) {
        deep += std::string(
            "\x08\x00\x40\x11SQ\x00\x00\xFF\xFF\xFF\xFF\xFE\xFF\x00\xE0\xFF\xFF\xFF\xFF", 20);
    }
    write_bytes(folder / "deep.dcm", deep);
    expect_refused(folder / "deep.dcm", "nested too deeply");
}

// Any one byte of a header may be wrong: the reader may refuse or read, but must return.
TEST(BadScan, SurvivesEveryDamagedHeaderByte) {
    const TestFolder folder;
    Series series;
    series.size = {8, 8, 2};
    write_multi_frame(folder / "plain.dcm", series, true);
    ASSERT_EQ(test::run("dcmcrle " + (folder / "plain.dcm").string() + " " +
                        (folder / "rle.dcm").string()),
              0);
    for (const char* name : {"plain.dcm", "rle.dcm"}) {
        const std::string whole = bytes_of(folder / name);
        const std::size_t end = std::min<std::size_t>(whole.size(), 2400);
        for (std::size_t at = 128; at < end; at += 3) {
            std::string damaged = whole;
            damaged[at] = char(damaged[at] ^ (at % 2 ? 0xFF : 0x81));
            write_bytes(folder / "damaged.dcm", damaged);
            const auto scan = open(folder / "damaged.dcm");
            if (!scan) continue;
            EXPECT_EQ(scan->volume.voxels.size(), scan->volume.geometry.voxel_count());
        }
    }
}

TEST(Zip, GivesWhatItsFolderGives) {
    const TestFolder folder;
    const Series series;
    write_series(folder / "s", series);
    auto entries = entries_of(folder / "s", "patient/scan/");
    entries.push_back({"patient/readme.txt", "text"});
    write_zip(folder / "scan.zip", entries);
    const auto scan = open(folder / "scan.zip");
    ASSERT_TRUE(scan) << scan.error().sentence();
    test::expect_same(scan->volume, truth_of(series));
}

TEST(Zip, NeverWritesOutsideItsFolderNorLeavesAnything) {
    const TestFolder folder;
    const TestFolder temporary;
    const Series series;
    write_series(folder / "s", series);
    auto entries = entries_of(folder / "s", "../../../../" + folder.path().string() + "/escaped/");
    entries.push_back({"/etc/anfract-escaped", "x"});
    entries.push_back({"..", "x"});
    write_zip(folder / "evil.zip", entries);
    ::setenv("TMPDIR", temporary.path().c_str(), 1);
    const auto scan = open(folder / "evil.zip");
    ::unsetenv("TMPDIR");
    ASSERT_TRUE(scan) << scan.error().sentence();
    test::expect_same(scan->volume, truth_of(series));
    EXPECT_FALSE(test::fs::exists(folder / "escaped"));
    EXPECT_FALSE(test::fs::exists("/etc/anfract-escaped"));
    EXPECT_TRUE(test::fs::is_empty(temporary.path()));
}

TEST(Zip, RefusesBombsAndDamage) {
    const TestFolder folder;
    write_zip(folder / "bomb.zip", {{"a.dcm", std::string(std::size_t{80} << 20, '\0')}});
    expect_refused(folder / "bomb.zip", "it unpacks to far more than a scan");
    write_zip(folder / "empty.zip", {{"folder/.hidden", "x"}});
    expect_refused(folder / "empty.zip", "the zip holds no files");
    write_bytes(folder / "broken.zip", "PK\x03\x04 and then nothing of the kind");
    expect_refused(folder / "broken.zip", "it is not a zip that can be opened");
}

// High-throughput JPEG 2000 is newer than the DCMTK this is built with, which takes it for native
// pixels [DICOM PS3.6, Annex A: 1.2.840.10008.1.2.4.201].
TEST(BadScan, NamesAnEncodingThatNoLibraryKnows) {
    std::string bytes = bytes_of(test::fs::path(ANFRACT_SOURCE_DIR) / "fuzz/seeds/scan/rle.dcm");
    const std::string rle(
        "UI\x14\0"
        "1.2.840.10008.1.2.5\0",
        24);
    const auto at = bytes.find(rle);
    ASSERT_NE(at, std::string::npos);
    bytes.replace(at, rle.size(),
                  std::string("UI\x18\0"
                              "1.2.840.10008.1.2.4.201\0",
                              28));
    bytes[140] = char(bytes[140] + 4);  // the length of the file header
    const TestFolder folder;
    write_bytes(folder / "htj2k.dcm", bytes);
    expect_refused(folder / "htj2k.dcm", "its encoding 1.2.840.10008.1.2.4.201 is not read");
}

}  // namespace anfract
