#include "anfract/scan/read_scan.h"

#include <algorithm>
#include <cctype>
#include <optional>
#include <system_error>

#include "anfract/base/parallel.h"
#include "dicom_candidates.h"
#include "dicom_stack.h"
#include "file_bytes.h"
#include "fill_volume.h"
#include "frame_source.h"
#include "itk_image.h"
#include "unzip.h"

namespace anfract {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t most_files = 100000;

bool is_zip(const fs::path& path) {
    const FileBytes file(path);
    char head[4] = {};
    return file.good() && file.read(head, 4, 0) == 4 && head[0] == 'P' && head[1] == 'K' &&
           head[2] == 3 && head[3] == 4;
}

/// The regular files in a folder and its sub-folders, in the order of their names. Links to folders
/// are not followed, since they may lead round in a circle.
Result<std::vector<fs::path>> files_in(const fs::path& folder) {
    std::vector<fs::path> files;
    std::error_code error;
    fs::recursive_directory_iterator walk(folder, fs::directory_options::skip_permission_denied,
                                          error);
    for (; !error && walk != fs::recursive_directory_iterator(); walk.increment(error)) {
        std::error_code unreadable;
        if (walk->is_regular_file(unreadable)) files.push_back(walk->path());
        if (files.size() > most_files) {
            return fail(ErrorCode::BadInput, "the folder holds more than 100000 files",
                        folder.string(), "name the folder of the scan itself");
        }
    }
    if (error) {
        return fail(ErrorCode::Io, "the folder cannot be read (" + error.message() + ")",
                    folder.string(), "check the rights");
    }
    if (files.empty()) {
        return fail(ErrorCode::BadInput, "the folder is empty", folder.string(),
                    "name the folder that holds the scan");
    }
    std::sort(files.begin(), files.end());
    return files;
}

/// What a path stands for: files to look at, perhaps unpacked from a zip.
struct Sources {
    std::optional<TemporaryFolder> unpacked;
    std::vector<fs::path> files;
    bool folder = false;
};

Result<Sources> find_sources(const fs::path& path, const Progress& progress) {
    Sources sources;
    std::error_code error;
    const fs::file_status status = fs::status(path, error);
    if (!fs::exists(status)) {
        return fail(ErrorCode::NotFound, "there is no such file or folder", path.string(),
                    "check the name");
    }
    fs::path folder = path;
    if (fs::is_regular_file(status)) {
        if (!is_zip(path)) {
            if (!FileBytes(path).good()) {
                return fail(ErrorCode::Io, "it cannot be opened", path.string(),
                            "check the rights");
            }
            sources.files = {path};
            return sources;
        }
        auto unpacked = unzip(path, progress);
        if (!unpacked) return tl::unexpected(unpacked.error());
        sources.unpacked.emplace(std::move(*unpacked));
        folder = sources.unpacked->path();
    } else if (!fs::is_directory(status)) {
        return fail(ErrorCode::BadInput, "it is neither a file nor a folder", path.string(),
                    "name a scan");
    }
    auto files = files_in(folder);
    if (!files) {
        Error inner = files.error();
        if (sources.unpacked)
            inner = {ErrorCode::BadInput, "the zip holds no files", path.string(),
                     "pack the scan again"};
        return tl::unexpected(inner);
    }
    sources.files = std::move(*files);
    sources.folder = true;
    return sources;
}

/// Why there is no DICOM image among the files.
tl::unexpected<Error> no_image(const Sources& sources, const DicomFind& find,
                               const std::string& where) {
    if (!find.complaints.empty()) {
        const std::string& first = find.complaints.front();
        // A single file is already named by `where`.
        const std::string what =
            sources.folder ? "no image can be used, " + first : first.substr(first.find(": ") + 2);
        return fail(ErrorCode::BadInput, what, where, "copy or export the scan again");
    }
    if (!sources.folder) {
        return fail(ErrorCode::BadInput, "it is not a DICOM image, NIfTI, NRRD or zip file", where,
                    "name a scan in one of these formats");
    }
    return fail(ErrorCode::BadInput,
                "none of its " + std::to_string(sources.files.size()) + " file(s) is a DICOM image",
                where, "name the folder that holds the scan");
}

bool says_invented(const std::string& text) {
    std::string lower = text;
    for (char& c : lower) c = char(std::tolower(static_cast<unsigned char>(c)));
    return lower.find("invented") != std::string::npos;
}

Result<OpenedScan> read_dicom(const Sources& sources, const ReadOptions& options, unsigned threads,
                              const std::string& where, const Progress& progress) {
    auto find = look_at_files(sources.files, threads, progress);
    if (!find) return tl::unexpected(find.error());
    if (find->images.empty()) return no_image(sources, *find, where);
    auto images = choose_series(std::move(find->images), options.series_uid, where);
    if (!images) return tl::unexpected(images.error());
    auto stack = stack_slices(*images, where);
    if (!stack) {
        // A slice that was left out as broken is the likely reason for a gap.
        Error error = stack.error();
        if (!find->complaints.empty()) error.what += " (" + find->complaints.front() + ")";
        return tl::unexpected(error);
    }
    if (stack->geometry.voxel_count() > options.voxel_limit) {
        return fail(ErrorCode::Unsupported, "the scan has more voxels than can be read", where,
                    "export a smaller region");
    }
    auto volume = fill_volume(*images, *stack, threads, progress);
    if (!volume) {
        Error error = volume.error();
        if (sources.unpacked)
            error.where = where + ", " + fs::path(error.where).filename().string();
        return tl::unexpected(error);
    }
    const DicomFile& first = images->front();
    OpenedScan scan;
    scan.volume = std::move(*volume);
    scan.volume.series_uid = first.series_uid;
    scan.volume.invented = std::any_of(images->begin(), images->end(), [](const DicomFile& image) {
        return says_invented(image.comments) || says_invented(image.description);
    });
    scan.source =
        images->size() == 1 && first.frames.size() > 1 ? "DICOM multi-frame file" : "DICOM series";
    scan.description = first.description;
    scan.encoding = first.encoding;
    scan.problems = std::move(find->problems);
    scan.problems.insert(scan.problems.end(), stack->problems.begin(), stack->problems.end());
    if (first.colour == "MONOCHROME1") {
        scan.problems.push_back(
            "The scan is marked to be shown inverted; its grey values are used as stored.");
    }
    if (first.lossy || first.encoding.find("Lossy") != std::string::npos) {
        scan.problems.push_back(
            "The images were compressed with loss, so noise and fine detail are altered.");
    }
    return scan;
}

Result<OpenedScan> open_sources(const Sources& sources, const ReadOptions& options,
                                const std::string& where, const Progress& progress) {
    const unsigned threads = options.threads == 0 ? default_threads() : options.threads;
    // One NIfTI or NRRD file, given itself or as the only one of its kind in a folder without DICOM
    // images.
    const fs::path* other = nullptr;
    ItkFormat format = ItkFormat::None;
    std::size_t others = 0;
    for (const fs::path& file : sources.files) {
        if (sources.files.size() > 8) break;
        if (const ItkFormat f = itk_format_of(file); f != ItkFormat::None) {
            other = &file;
            format = f;
            ++others;
        }
    }
    if (others == 1 && !sources.folder) return read_itk_image(*other, format, options.voxel_limit);
    auto dicom = read_dicom(sources, options, threads, where, progress);
    if (dicom || others != 1) return dicom;
    return read_itk_image(*other, format, options.voxel_limit);
}

}  // namespace

Result<OpenedScan> open_scan(const fs::path& path, const ReadOptions& options,
                             const Progress& progress) {
    progress.report(0, "looking at files");
    try {
        auto sources = find_sources(path, progress);
        if (!sources) return tl::unexpected(sources.error());
        auto scan = open_sources(*sources, options, path.string(), progress);
        if (scan) progress.report(1, "reading slices");
        return scan;
    } catch (const std::bad_alloc&) {
        return fail(ErrorCode::Io, "there is not enough memory for the scan", path.string(),
                    "close other programs or export a smaller region");
    }
}

Result<Volume> read_scan(const fs::path& path, const ReadOptions& options,
                         const Progress& progress) {
    return open_scan(path, options, progress).map([](OpenedScan&& scan) {
        return std::move(scan.volume);
    });
}

Result<std::vector<SeriesInfo>> list_series(const fs::path& path, const Progress& progress) {
    auto sources = find_sources(path, progress);
    if (!sources) return tl::unexpected(sources.error());
    auto find = look_at_files(sources->files, 0, progress);
    if (!find) return tl::unexpected(find.error());
    if (!find->images.empty()) return series_of(find->images);
    for (const fs::path& file : sources->files) {
        if (itk_format_of(file) != ItkFormat::None) return std::vector<SeriesInfo>{};
    }
    return no_image(*sources, *find, path.string());
}

}  // namespace anfract
