#include <dcmtk/config/osconfig.h>
#include <dcmtk/dcmdata/dctk.h>
#include <gtest/gtest.h>

#include <Eigen/Geometry>
#include <fstream>

#include "anfract/scan/read_scan.h"
#include "series_maker.h"

namespace anfract {

using test::convert;
using test::expect_same;
using test::open;
using test::Series;
using test::TestFolder;
using test::truth_of;
using test::write_multi_frame;
using test::write_series;

namespace {

void expect_reads(const test::fs::path& path, const Series& series) {
    const Result<OpenedScan> scan = open(path);
    ASSERT_TRUE(scan) << scan.error().sentence();
    expect_same(scan->volume, truth_of(series));
    EXPECT_EQ(scan->volume.series_uid, series.series_uid);
}

const Mat3 oblique = Eigen::AngleAxisd(0.7, Vec3(1, -2, 0.5).normalized()).toRotationMatrix();

}  // namespace

TEST(ReadDicom, GivesEveryVoxelAtItsPlaceInAnyOrientation) {
    for (const Mat3& direction :
         {Mat3(Mat3::Identity()), oblique,
          Mat3(Eigen::AngleAxisd(M_PI, Vec3::UnitX()).toRotationMatrix()),
          Mat3(Eigen::AngleAxisd(M_PI / 2, Vec3::UnitY()).toRotationMatrix())}) {
        const TestFolder folder;
        Series series;
        series.direction = direction;
        write_series(folder.path(), series);
        expect_reads(folder.path(), series);
    }
}

TEST(ReadDicom, UnderstandsEveryPixelLayout) {
    struct Layout {
        int allocated, stored, high_bit;
        bool is_signed;
    };
    for (const Layout& l :
         {Layout{16, 16, 15, true}, Layout{16, 16, 15, false}, Layout{16, 12, 11, true},
          Layout{16, 12, 11, false}, Layout{16, 10, 13, false}, Layout{16, 12, 15, true},
          Layout{8, 8, 7, false}, Layout{8, 8, 7, true}, Layout{8, 6, 5, false}}) {
        const TestFolder folder;
        Series series;
        series.size = {23, 19, 5};  // an odd number of pixels
        series.bits_allocated = l.allocated;
        series.bits_stored = l.stored;
        series.high_bit = l.high_bit;
        series.is_signed = l.is_signed;
        series.slope = 0.5;
        series.intercept = -1024;
        write_series(folder / "native", series);
        SCOPED_TRACE(testing::Message() << l.allocated << "/" << l.stored << "/" << l.high_bit
                                        << (l.is_signed ? " signed" : " unsigned"));
        expect_reads(folder / "native", series);
        convert("dcmconv +tb", folder / "native", folder / "big");
        expect_reads(folder / "big", series);
        convert("dcmconv +td", folder / "native", folder / "deflated");
        expect_reads(folder / "deflated", series);
    }
}

// DCMTK's own tools write each transfer syntax; the truth is what went in.
TEST(ReadDicom, ReadsEveryTransferSyntaxOfDcmtk) {
    for (const bool is_signed : {true, false}) {
        const TestFolder folder;
        Series series;
        series.is_signed = is_signed;
        series.bits_stored = 12;
        series.high_bit = 11;
        series.direction = oblique;
        write_series(folder / "explicit", series);
        // JPEG cannot carry rubbish in unused bits: clean them first, as RLE and others keep them.
        for (const char* command :
             {"dcmconv +te", "dcmconv +ti", "dcmconv +tb", "dcmconv +td", "dcmcrle"}) {
            SCOPED_TRACE(command);
            const std::string to =
                std::string("to") + std::to_string(std::hash<std::string>{}(command));
            convert(command, folder / "explicit", folder / to);
            expect_reads(folder / to, series);
        }
        // With all 16 bits in use there are no unused bits for a codec to lose.
        series.bits_stored = 16;
        series.high_bit = 15;
        write_series(folder / "full", series);
        for (const char* command : {"dcmcrle", "dcmcjpeg +e1", "dcmcjpeg +el", "dcmcjpls +el"}) {
            SCOPED_TRACE(command);
            const std::string to =
                std::string("full") + std::to_string(std::hash<std::string>{}(command));
            convert(command, folder / "full", folder / to);
            expect_reads(folder / to, series);
        }
    }
}

// The raw pixel bytes that dcmdump writes are a second reader's view of the same file.
TEST(ReadDicom, AgreesWithThePixelsThatDcmdumpExtracts) {
    const TestFolder folder;
    Series series;
    series.size = {31, 17, 1};
    write_series(folder / "s", series);
    convert("dcmcjpls +el", folder / "s", folder / "jls");
    convert("dcmdjpls", folder / "jls", folder / "back");
    test::fs::create_directory(folder / "raw");
    const auto file = test::fs::directory_iterator(folder / "back")->path();
    ASSERT_EQ(test::run("dcmdump +W " + (folder / "raw").string() + " " + file.string()), 0);
    std::ifstream raw(test::fs::directory_iterator(folder / "raw")->path(), std::ios::binary);
    std::vector<std::int16_t> words(31 * 17);
    raw.read(reinterpret_cast<char*>(words.data()), std::streamsize(words.size() * 2));
    ASSERT_TRUE(raw);
    EXPECT_EQ(open(folder / "jls")->volume.voxels, words);
}

TEST(ReadDicom, ReadsJpeg2000AsGdcmWritesIt) {
    const TestFolder folder;
    for (const bool is_signed : {true, false}) {
        Series series;
        series.is_signed = is_signed;
        const std::string name = is_signed ? "signed" : "unsigned";
        write_series(folder / name, series);
        convert("gdcmconv --j2k", folder / name, folder / (name + "-j2k"));
        expect_reads(folder / (name + "-j2k"), series);
        // Several code streams in one file.
        write_multi_frame(folder / (name + ".dcm"), series, true);
        ASSERT_EQ(test::run("gdcmconv --j2k " + (folder / (name + ".dcm")).string() + " " +
                            (folder / (name + "-mf.dcm")).string()),
                  0);
        expect_reads(folder / (name + "-mf.dcm"), series);
    }
}

TEST(ReadDicom, ReadsEnhancedAndOlderMultiFrameFiles) {
    for (const bool enhanced : {true, false}) {
        const TestFolder folder;
        Series series;
        series.direction = oblique;
        series.slope = 2;
        series.intercept = -100;
        const auto plain = folder / "plain.dcm";
        write_multi_frame(plain, series, enhanced);
        expect_reads(plain, series);
        for (const char* command :
             {"dcmcrle", "dcmcjpeg +e1", "dcmcjpls +el", "dcmconv +tb", "dcmconv +td"}) {
            SCOPED_TRACE(command);
            const auto coded = folder / "coded.dcm";
            ASSERT_EQ(test::run(std::string(command) + " " + plain.string() + " " + coded.string()),
                      0);
            expect_reads(coded, series);
        }
        EXPECT_EQ(open(plain)->source, "DICOM multi-frame file");
    }
}

TEST(ReadDicom, ReadsTextInTheCharacterSetOfTheFile) {
    struct Case {
        const char *set, *bytes, *expected;
    };
    for (const Case& one : {
             // ISO 8859-1: E4 is U+00E4. ISO 8859-5: D7 is U+0437. ISO 8859-9: DE is U+015E. KS X
             // 1001 in
             // EUC-KR: B1 E8 is U+AE40 [DICOM PS3.5, I.2 gives it for a name, from memory].
             Case{"ISO_IR 100", "Z\xE4hne", "Z\u00E4hne"},
             Case{"ISO_IR 144", "\xD7\xE3\xD1", "\u0437\u0443\u0431"},
             Case{"ISO_IR 148", "Di\xDE", "Di\u015E"},
             Case{"ISO_IR 192", "Z\xC3\xA4hne", "Z\u00E4hne"},
             Case{"\\ISO 2022 IR 149", "\x1B$)C\xB1\xE8", "\uAE40"},
             // Wrong for the set that is named, in none, in one that is not known, and with control
             // codes.
             Case{"ISO_IR 192", "Z\xE4hne", "Z\uFFFDhne"},
             Case{"", "Z\xE4hne", "Z\uFFFDhne"},
             Case{"ISO_IR 999", "Z\xE4hne", "Z\uFFFDhne"},
             Case{"ISO_IR 100", "a\x1B[2Jb", "a [2Jb"},
         }) {
        const TestFolder folder;
        Series series;
        series.edit = [&](DcmDataset& d, int) {
            return d.putAndInsertString(DCM_SpecificCharacterSet, one.set).good() &&
                   d.putAndInsertString(DCM_SeriesDescription, one.bytes).good();
        };
        write_series(folder / "s", series);
        const auto scan = open(folder / "s");
        ASSERT_TRUE(scan) << one.set << ": " << scan.error().sentence();
        EXPECT_EQ(scan->description, one.expected) << one.set;
    }
}

TEST(ReadDicom, StacksFramesAgainstTheNormalWhenTheirSpacingIsNegative) {
    const TestFolder folder;
    Series series;
    series.edit = [&](DcmDataset& d, int) {
        return d.putAndInsertString(DCM_SpacingBetweenSlices, "-0.3").good();
    };
    write_multi_frame(folder / "down.dcm", series, false);
    // The first frame is then the highest: the same voxels with the frames in the other order.
    Volume truth = test::truth_of(series);
    const auto [nx, ny, nz] = series.size;
    truth.geometry.origin_P.z() -= series.spacing_mm.z() * (nz - 1);
    std::vector<std::int16_t> upwards;
    for (int k = nz - 1; k >= 0; --k) {
        const auto frame = truth.voxels.begin() + std::ptrdiff_t(k) * nx * ny;
        upwards.insert(upwards.end(), frame, frame + std::ptrdiff_t(nx) * ny);
    }
    truth.voxels = upwards;
    const auto scan = open(folder / "down.dcm");
    ASSERT_TRUE(scan) << scan.error().sentence();
    expect_same(scan->volume, truth);
}

TEST(ReadDicom, FindsTheScanAmongSubFoldersAndOtherFiles) {
    const TestFolder folder;
    const Series series;
    write_series(folder / "a", series);
    test::fs::create_directories(folder / "a" / "b" / "c");
    std::ofstream(folder / "readme.txt") << "nothing";
    std::ofstream(folder / "a" / "empty.dcm");
    int moved = 0;
    for (const auto& entry : test::fs::directory_iterator(folder / "a")) {
        if (entry.is_regular_file() && entry.path().extension() == ".dcm" && moved++ % 2 == 0) {
            test::fs::rename(entry.path(), folder / "a" / "b" / "c" / entry.path().stem());
        }
    }
    ASSERT_EQ(test::run("mkfifo " + (folder / "pipe").string()), 0);
    expect_reads(folder.path(), series);
}

TEST(ReadDicom, ReadsASingleSliceAndABareDataSet) {
    const TestFolder folder;
    Series series;
    series.size[2] = 1;
    write_series(folder / "one", series);
    expect_reads(folder / "one", series);
    EXPECT_EQ(open(folder / "one")->problems.size(), 1u);
    // Without preamble and file header.
    convert("dcmconv -F +ti", folder / "one", folder / "bare");
    expect_reads(folder / "bare", series);
}

TEST(ReadDicom, ChoosesAmongSeveralSeries) {
    const TestFolder folder;
    Series one;
    Series two;
    two.series_uid = "1.2.826.0.1.3680043.9.2";
    two.description = "other";
    two.seed = 5;
    two.size[2] = 4;
    write_series(folder / "one", one);
    write_series(folder / "two", two);
    const Result<OpenedScan> both = open(folder.path());
    ASSERT_FALSE(both);
    const std::string sentence = both.error().sentence();
    for (const char* part :
         {"1.2.826.0.1.3680043.9.1 'test' with 7 slices",
          "1.2.826.0.1.3680043.9.2 'other' with 4 slices", "choose one by its UID"}) {
        EXPECT_NE(sentence.find(part), std::string::npos) << sentence;
    }
    const Result<OpenedScan> chosen = open(folder.path(), two.series_uid);
    ASSERT_TRUE(chosen) << chosen.error().sentence();
    expect_same(chosen->volume, truth_of(two));
    EXPECT_EQ(open(folder.path(), "1.9").error().code, ErrorCode::NotFound);
    const auto list = list_series(folder.path(), Progress());
    ASSERT_TRUE(list);
    ASSERT_EQ(list->size(), 2u);
    EXPECT_EQ((*list)[1].slices, 4);
}

TEST(ReadDicom, TellsWhoseItIsAndWhereItLiesAsTheDataSetSays) {
    const TestFolder folder;
    Series series;
    series.edit = [](DcmDataset& d, int) {
        // "Müller" in Latin alphabet no. 1, whose u umlaut is the byte FC [ISO 8859-1, from
        // memory].
        return d.putAndInsertString(DCM_SpecificCharacterSet, "ISO_IR 100").good() &&
               d.putAndInsertString(DCM_PatientName, "M\xFCller^Inventa").good() &&
               d.putAndInsertString(DCM_PatientID, "I-7 ").good() &&
               d.putAndInsertString(DCM_PatientBirthDate, "19600102").good() &&
               d.putAndInsertString(DCM_StudyDate, "20260131").good() &&
               d.putAndInsertString(DCM_FrameOfReferenceUID, "1.2.3.4").good() &&
               d.putAndInsertString(DCM_AccessionNumber, "two\\values").good();
    };
    write_series(folder.path(), series);
    const Result<OpenedScan> scan = open(folder.path());
    ASSERT_TRUE(scan) << scan.error().sentence();
    const DicomStudy expected{.study_uid = "1.2.826.0.1.3680043.9",
                              .frame_uid = "1.2.3.4",
                              .study_date = "20260131",
                              .study_time = "",
                              .study_id = "",
                              .accession_number = "",
                              .patient_name = "Müller^Inventa",
                              .patient_id = "I-7",
                              .birth_date = "19600102",
                              .sex = ""};
    EXPECT_EQ(scan->study, expected);
    series.edit = [](DcmDataset& d, int) {
        return d.putAndInsertString(DCM_StudyInstanceUID, "not a UID").good();
    };
    write_series(folder.path(), series);
    EXPECT_EQ(open(folder.path())->study.study_uid, "");
}

TEST(ReadDicom, BringsSlicesWithScalesOfTheirOwnToOneScale) {
    const TestFolder folder;
    Series series;
    series.bits_stored = 12;
    series.high_bit = 11;
    series.edit = [](DcmDataset& d, int k) {
        return d.putAndInsertString(DCM_RescaleSlope, k % 2 ? "2" : "0.5").good();
    };
    write_series(folder.path(), series);
    const Result<OpenedScan> scan = open(folder.path());
    ASSERT_TRUE(scan) << scan.error().sentence();
    const Volume truth = truth_of(series);
    // The common scale has 65534 steps over the range -4096..4094: rounding to half a step.
    const double half_step = 0.5 * 8190 / 65534 + 1e-9;
    for (int k = 0; k < series.size[2]; ++k) {
        for (int i = 0; i < series.size[0]; ++i) {
            EXPECT_NEAR(scan->volume.grey(i, 3, k), (k % 2 ? 2 : 0.5) * truth.grey(i, 3, k),
                        half_step);
        }
    }
}

TEST(ReadDicom, RefusesAScaleThatGivesNoGreyValues) {
    for (const std::string slope : {"0", "0.0", "1e999"}) {
        const TestFolder folder;
        Series series;
        series.edit = [&](DcmDataset& d, int) {
            return d.putAndInsertString(DCM_RescaleSlope, slope.c_str()).good();
        };
        write_series(folder.path(), series);
        const Result<OpenedScan> scan = open(folder.path());
        ASSERT_FALSE(scan) << slope;
        EXPECT_EQ(scan.error().code, ErrorCode::BadInput);
        EXPECT_NE(scan.error().sentence().find("Rescale Slope"), std::string::npos)
            << scan.error().sentence();
    }
}

TEST(ReadDicom, IsTheSameWithAnyNumberOfThreads) {
    const TestFolder folder;
    Series series;
    series.size[2] = 40;
    write_series(folder.path(), series);
    const auto one = open(folder.path(), {}, 1);
    const auto four = open(folder.path(), {}, 4);
    ASSERT_TRUE(one && four);
    EXPECT_EQ(one->volume.voxels, four->volume.voxels);
}

TEST(ReadDicom, KnowsAnInventedScan) {
    const TestFolder folder;
    Series series;
    write_series(folder / "real", series);
    EXPECT_FALSE(open(folder / "real")->volume.invented);
    series.edit = [](DcmDataset& d, int) {
        return d.putAndInsertString(DCM_ImageComments, "Invented data, no patient").good();
    };
    write_series(folder / "invented", series);
    EXPECT_TRUE(open(folder / "invented")->volume.invented);
}

TEST(ReadDicom, StopsWhenCancelled) {
    const TestFolder folder;
    write_series(folder.path(), Series{});
    Progress progress;
    progress.cancel();
    EXPECT_EQ(read_scan(folder.path(), {}, progress).error().code, ErrorCode::Cancelled);
}

}  // namespace anfract
