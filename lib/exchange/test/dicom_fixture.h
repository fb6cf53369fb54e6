#pragma once

#include <gtest/gtest.h>
#include <stdlib.h>

#include <cstdio>
#include <filesystem>
#include <fstream>

#include "anfract/exchange/dicom_objects.h"
#include "anfract/plan/make_plan.h"
#include "anfract/tray/tray_file.h"
#include "made_tooth.h"

namespace anfract::test {

namespace fs = std::filesystem;

/// What a command prints, both streams, and whether it left with 0.
struct Printed {
    std::string text;
    bool good = false;
};

inline Printed print_of(const std::string& command) {
    Printed printed;
    FILE* const pipe = ::popen((command + " 2>&1").c_str(), "r");
    char part[4096];
    for (std::size_t n = 0; (n = std::fread(part, 1, sizeof part, pipe)) > 0;)
        printed.text.append(part, n);
    printed.good = ::pclose(pipe) == 0;
    return printed;
}

class DicomObjects : public testing::Test {
  protected:
    static void SetUpTestSuite() {
        Tooth tooth = tooth_with({straight_canal(12, 0.4)});
        tooth.invented = true;
        Tray tray = generic_tray();
        tray.devices.resize(8);
        plan_ = new Plan(*make_plan(tooth, tray, {}, {}));
    }
    static void TearDownTestSuite() { delete plan_; }

    void SetUp() override {
        std::string name = (fs::temp_directory_path() / "anfract-dicom-XXXXXX").string();
        ASSERT_NE(::mkdtemp(name.data()), nullptr);
        folder_ = name;
    }
    void TearDown() override { fs::remove_all(folder_); }

    /// Writes the objects of the plan with a letter into the folder.
    void write(const DicomSubject& subject) const {
        const auto objects = dicom_objects(*plan_, subject, letter, {picture()});
        ASSERT_TRUE(objects) << objects.error().sentence();
        ASSERT_EQ(objects->size(), 4u);
        for (const DicomObject& object : *objects)
            std::ofstream(folder_ / object.name, std::ios::binary) << object.bytes;
    }

    /// Three pixels, red, green, blue.
    static DicomPicture picture() {
        return {"ruler", "Three pixels", 3, 1, std::string("\xff\0\0\0\xff\0\0\0\xff", 9)};
    }
    static constexpr const char* names[] = {"measurements.dcm", "canals.dcm", "ruler.dcm",
                                            "letter.dcm"};
    static constexpr const char* letter = "%PDF-1.7 odd\n%%EOF\n";
    static Plan* plan_;
    fs::path folder_;
};
inline Plan* DicomObjects::plan_ = nullptr;

inline DicomStudy some_study() {
    DicomStudy study;
    study.study_uid = "1.2.3.4";
    study.frame_uid = "1.2.3.5";
    return study;
}

inline const DicomSubject someone{.family = "Invented",
                                  .given = "Case",
                                  .identifier = "INVENTED-1",
                                  .birth_date = "1990-02-03",
                                  .study = some_study(),
                                  .issued = "2026-01-02T03:04:05"};

}  // namespace anfract::test
