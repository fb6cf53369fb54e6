#include "series_maker.h"

#include <dcmtk/config/osconfig.h>
#include <dcmtk/dcmdata/dctk.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <Eigen/LU>
#include <cstdio>
#include <cstdlib>
#include <random>

namespace anfract::test {
namespace {

/// Raw pixel words of all slices, as they stand in the file: unused bits are filled with rubbish
/// for plain words, since a reader must mask them.
std::vector<std::int32_t> stored_values(const Series& s) {
    std::mt19937 random(s.seed);
    const std::int32_t low = s.is_signed ? -(1 << (s.bits_stored - 1)) : 0;
    std::uniform_int_distribution<std::int32_t> value(low, low + (1 << s.bits_stored) - 1);
    std::vector<std::int32_t> values(std::size_t(s.size[0]) * s.size[1] * s.size[2]);
    for (auto& v : values) v = value(random);
    return values;
}

std::string number(double v) {
    char text[32];
    std::snprintf(text, sizeof text, "%.8g", v);
    return text;
}

std::string numbers(const std::vector<double>& values) {
    std::string text;
    for (const double v : values) text += (text.empty() ? "" : "\\") + number(v);
    return text;
}

std::string orientation(const Series& s) {
    return numbers({s.direction(0, 0), s.direction(1, 0), s.direction(2, 0), s.direction(0, 1),
                    s.direction(1, 1), s.direction(2, 1)});
}

std::string position(const Series& s, int k) {
    const Vec3 p = s.origin_P + s.direction.col(2) * s.spacing_mm.z() * k;
    return numbers({p.x(), p.y(), p.z()});
}

void put(DcmItem& item, const DcmTagKey& tag, const std::string& text) {
    ASSERT_TRUE(item.putAndInsertString(tag, text.c_str()).good());
}

void put_common(DcmDataset& d, const Series& s) {
    char uid[100];
    put(d, DCM_SOPClassUID, UID_CTImageStorage);
    put(d, DCM_SOPInstanceUID, dcmGenerateUniqueIdentifier(uid));
    put(d, DCM_StudyInstanceUID, "1.2.826.0.1.3680043.9");
    put(d, DCM_SeriesInstanceUID, s.series_uid);
    put(d, DCM_SeriesDescription, s.description);
    put(d, DCM_Modality, "CT");
    put(d, DCM_PatientName, "INVENTED");
    put(d, DCM_PhotometricInterpretation, "MONOCHROME2");
    d.putAndInsertUint16(DCM_SamplesPerPixel, 1);
    d.putAndInsertUint16(DCM_Rows, Uint16(s.size[1]));
    d.putAndInsertUint16(DCM_Columns, Uint16(s.size[0]));
    d.putAndInsertUint16(DCM_BitsAllocated, Uint16(s.bits_allocated));
    d.putAndInsertUint16(DCM_BitsStored, Uint16(s.bits_stored));
    d.putAndInsertUint16(DCM_HighBit, Uint16(s.high_bit));
    d.putAndInsertUint16(DCM_PixelRepresentation, s.is_signed ? 1 : 0);
}

void put_pixels(DcmDataset& d, const Series& s, int first_slice, int slices) {
    const std::vector<std::int32_t> values = stored_values(s);
    const std::size_t slice = std::size_t(s.size[0]) * s.size[1];
    const std::size_t begin = slice * first_slice;
    const std::size_t count = slice * slices;
    const int shift = s.high_bit + 1 - s.bits_stored;
    const unsigned used = ((1u << s.bits_stored) - 1) << shift;
    std::mt19937 rubbish(s.seed + 7);
    if (s.bits_allocated == 8) {
        std::vector<Uint8> bytes(count + count % 2);
        for (std::size_t n = 0; n < count; ++n)
            bytes[n] = Uint8(unsigned(values[begin + n]) << shift & used);
        ASSERT_TRUE(d.putAndInsertUint8Array(DCM_PixelData, bytes.data(), bytes.size()).good());
        return;
    }
    std::vector<Uint16> words(count);
    for (std::size_t n = 0; n < count; ++n) {
        words[n] =
            Uint16((unsigned(values[begin + n]) << shift & used) | (unsigned(rubbish()) & ~used));
    }
    ASSERT_TRUE(d.putAndInsertUint16Array(DCM_PixelData, words.data(), words.size()).good());
}

void add_groups(DcmItem& dataset, const DcmTagKey& sequence, int frame, const DcmTagKey& macro,
                const std::vector<std::pair<DcmTagKey, std::string>>& elements) {
    DcmItem* groups = nullptr;
    ASSERT_TRUE(dataset.findOrCreateSequenceItem(sequence, groups, frame).good());
    DcmItem* item = nullptr;
    ASSERT_TRUE(groups->findOrCreateSequenceItem(macro, item, 0).good());
    for (const auto& [tag, text] : elements) put(*item, tag, text);
}

}  // namespace

TestFolder::TestFolder() {
    std::string name = (fs::temp_directory_path() / "anfract-test-XXXXXX").string();
    if (::mkdtemp(name.data()) == nullptr) ADD_FAILURE() << "no temporary folder";
    path_ = name;
}

TestFolder::~TestFolder() { fs::remove_all(path_); }

Volume truth_of(const Series& s) {
    Volume volume;
    volume.geometry = {s.size, s.spacing_mm, s.origin_P, s.direction};
    volume.series_uid = s.series_uid;
    const bool shifted = !s.is_signed && s.bits_stored == 16;
    volume.slope = s.slope;
    volume.intercept = s.intercept + (shifted ? 32768 * s.slope : 0);
    std::vector<std::int16_t> stored;
    for (const std::int32_t v : stored_values(s)) {
        stored.push_back(std::int16_t(shifted ? v - 32768 : v));
    }
    volume.voxels = stored;
    return volume;
}

void write_series(const fs::path& folder, const Series& s) {
    fs::create_directories(folder);
    for (int k = 0; k < s.size[2]; ++k) {
        DcmFileFormat format;
        DcmDataset& d = *format.getDataset();
        put_common(d, s);
        put(d, DCM_InstanceNumber, std::to_string(k + 1));
        put(d, DCM_ImagePositionPatient, position(s, k));
        put(d, DCM_ImageOrientationPatient, orientation(s));
        put(d, DCM_PixelSpacing, numbers({s.spacing_mm.y(), s.spacing_mm.x()}));
        put(d, DCM_SliceThickness, number(s.spacing_mm.z()));
        put(d, DCM_RescaleSlope, number(s.slope));
        put(d, DCM_RescaleIntercept, number(s.intercept));
        put_pixels(d, s, k, 1);
        if (s.edit && !s.edit(d, k)) continue;
        // The names do not follow the positions.
        const std::string name =
            "f" + std::to_string((k * 5 + 3) % 97) + "-" + std::to_string(k + 1) + ".dcm";
        ASSERT_TRUE(format.saveFile((folder / name).c_str(), EXS_LittleEndianExplicit).good());
    }
}

void write_multi_frame(const fs::path& file, const Series& s, bool enhanced) {
    DcmFileFormat format;
    DcmDataset& d = *format.getDataset();
    put_common(d, s);
    put(d, DCM_NumberOfFrames, std::to_string(s.size[2]));
    const std::string spacing = numbers({s.spacing_mm.y(), s.spacing_mm.x()});
    if (enhanced) {
        put(d, DCM_SOPClassUID, UID_EnhancedCTImageStorage);
        add_groups(d, DCM_SharedFunctionalGroupsSequence, 0, DCM_PixelMeasuresSequence,
                   {{DCM_PixelSpacing, spacing}, {DCM_SliceThickness, number(s.spacing_mm.z())}});
        add_groups(d, DCM_SharedFunctionalGroupsSequence, 0, DCM_PlaneOrientationSequence,
                   {{DCM_ImageOrientationPatient, orientation(s)}});
        add_groups(
            d, DCM_SharedFunctionalGroupsSequence, 0, DCM_PixelValueTransformationSequence,
            {{DCM_RescaleSlope, number(s.slope)}, {DCM_RescaleIntercept, number(s.intercept)}});
        for (int k = 0; k < s.size[2]; ++k) {
            add_groups(d, DCM_PerFrameFunctionalGroupsSequence, k, DCM_PlanePositionSequence,
                       {{DCM_ImagePositionPatient, position(s, k)}});
        }
    } else {
        put(d, DCM_SOPClassUID, UID_MultiframeGrayscaleWordSecondaryCaptureImageStorage);
        put(d, DCM_PixelSpacing, spacing);
        put(d, DCM_SpacingBetweenSlices, number(s.spacing_mm.z()));
        put(d, DCM_ImagePositionPatient, position(s, 0));
        put(d, DCM_ImageOrientationPatient, orientation(s));
        put(d, DCM_RescaleSlope, number(s.slope));
        put(d, DCM_RescaleIntercept, number(s.intercept));
    }
    put_pixels(d, s, 0, s.size[2]);
    if (s.edit) s.edit(d, 0);
    ASSERT_TRUE(format.saveFile(file.c_str(), EXS_LittleEndianExplicit).good());
}

void expect_same(const Volume& volume, const Volume& truth) {
    ASSERT_EQ(volume.geometry.size, truth.geometry.size);
    EXPECT_LT((volume.geometry.spacing_mm - truth.geometry.spacing_mm).norm(), 1e-6);
    EXPECT_LT((volume.geometry.origin_P - truth.geometry.origin_P).norm(), 1e-5);
    EXPECT_LT((volume.geometry.direction - truth.geometry.direction).norm(), 1e-6);
    EXPECT_NEAR(volume.geometry.direction.determinant(), 1, 1e-9);
    ASSERT_EQ(volume.voxels.size(), truth.voxels.size());
    std::size_t different = 0;
    for (std::size_t n = 0; n < truth.voxels.size(); ++n) {
        const double grey = volume.slope * volume.voxels[n] + volume.intercept;
        const double expected = truth.slope * truth.voxels[n] + truth.intercept;
        if (std::abs(grey - expected) > 1e-9 * std::max(1.0, std::abs(expected))) ++different;
    }
    EXPECT_EQ(different, 0u);
}

int run(const std::string& command) {
    const int status = std::system((command + " >/dev/null 2>&1").c_str());
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

void convert(const std::string& command, const fs::path& from, const fs::path& to) {
    fs::create_directories(to);
    for (const auto& entry : fs::directory_iterator(from)) {
        const std::string line =
            command + " " + entry.path().string() + " " + (to / entry.path().filename()).string();
        ASSERT_EQ(run(line), 0) << line;
    }
}

Result<OpenedScan> open(const fs::path& path, const std::string& series_uid, unsigned threads) {
    ReadOptions options;
    options.series_uid = series_uid;
    options.threads = threads;
    return open_scan(path, options, Progress());
}

}  // namespace anfract::test
