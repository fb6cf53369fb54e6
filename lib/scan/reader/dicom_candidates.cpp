#include "dicom_candidates.h"

#include <algorithm>
#include <map>

#include "anfract/base/parallel.h"

namespace anfract {
namespace {

std::string listing(const std::vector<SeriesInfo>& all) {
    std::string text;
    for (const SeriesInfo& s : all) {
        if (!text.empty()) text += ", ";
        text += (s.series_uid.empty() ? "(no UID)" : s.series_uid) + " '" + s.description +
                "' with " + std::to_string(s.slices) + (s.slices == 1 ? " slice" : " slices");
    }
    return text;
}

bool named_dicom(const std::filesystem::path& path) {
    std::string extension = path.extension().string();
    for (char& c : extension) c = char(std::tolower(static_cast<unsigned char>(c)));
    return extension == ".dcm" || extension == ".dicom";
}

}  // namespace

Result<DicomFind> look_at_files(const std::vector<std::filesystem::path>& paths, unsigned threads,
                                const Progress& progress) {
    std::vector<DicomLook> looks(paths.size());
    parallel_for(paths.size(), threads, [&](std::size_t begin, std::size_t end) {
        for (std::size_t n = begin; n < end && !progress.cancelled(); ++n)
            looks[n] = look_at_dicom(paths[n]);
    });
    if (progress.cancelled()) return fail(ErrorCode::Cancelled, "reading was stopped");
    DicomFind find;
    std::size_t false_names = 0;
    std::string example;
    using Kind = DicomLook::Kind;
    for (std::size_t n = 0; n < paths.size(); ++n) {
        const std::string name = paths[n].filename().string();
        if (looks[n].kind == Kind::Image) {
            looks[n].file.number = n;
            find.images.push_back(std::move(looks[n].file));
        } else if (looks[n].kind == Kind::Broken || looks[n].kind == Kind::Unsupported) {
            find.complaints.push_back(name + ": " + looks[n].complaint);
        } else if (looks[n].kind == Kind::NotDicom && named_dicom(paths[n]) && false_names++ == 0) {
            example = name;
        }
    }
    if (false_names > 0) {
        find.problems.push_back(
            std::to_string(false_names) +
            " file(s) named like DICOM are not DICOM and were left out, such as " + example + ".");
    }
    for (std::size_t n = 0; n < find.complaints.size() && n < 3; ++n) {
        find.problems.push_back("Left out " + find.complaints[n] + ".");
    }
    if (find.complaints.size() > 3) {
        find.problems.push_back("Left out " + std::to_string(find.complaints.size() - 3) +
                                " more files that cannot be used.");
    }
    return find;
}

std::vector<SeriesInfo> series_of(const std::vector<DicomFile>& images) {
    std::map<std::string, SeriesInfo> all;
    for (const DicomFile& image : images) {
        SeriesInfo& info = all[image.series_uid];
        info.series_uid = image.series_uid;
        if (info.description.empty()) info.description = image.description;
        info.slices += int(image.frames.size());
    }
    std::vector<SeriesInfo> list;
    for (auto& [uid, info] : all) list.push_back(std::move(info));
    return list;
}

Result<std::vector<DicomFile>> choose_series(std::vector<DicomFile> images,
                                             const std::string& wished_uid,
                                             const std::string& where) {
    const std::vector<SeriesInfo> all = series_of(images);
    if (wished_uid.empty() && all.size() > 1) {
        return fail(ErrorCode::BadInput,
                    "it holds " + std::to_string(all.size()) + " series: " + listing(all), where,
                    "choose one by its UID");
    }
    if (wished_uid.empty()) return images;
    std::erase_if(images, [&](const DicomFile& image) { return image.series_uid != wished_uid; });
    if (images.empty()) {
        return fail(ErrorCode::NotFound,
                    "there is no series " + wished_uid + ", only " + listing(all), where,
                    "choose one by its UID");
    }
    return images;
}

}  // namespace anfract
