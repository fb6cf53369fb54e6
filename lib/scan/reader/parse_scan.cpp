#include "parse_scan.h"

#include <algorithm>
#include <cctype>

#include "anfract/base/parallel.h"
#include "dicom_candidates.h"
#include "fill_volume.h"
#include "frame_source.h"
#include "itk_image.h"
#include "memory_file.h"

namespace anfract {
namespace {

/// Why there is no DICOM image among the files.
tl::unexpected<Error> no_image(const ReaderRequest& request, const DicomFind& find) {
    if (!find.complaints.empty()) {
        const std::string& first = find.complaints.front();
        // A single file is already named by `where`.
        const std::string what =
            request.folder ? "no image can be used, " + first : first.substr(first.find(": ") + 2);
        return fail(ErrorCode::BadInput, what, request.where, "copy or export the scan again");
    }
    if (!request.folder) {
        return fail(ErrorCode::BadInput, "it is not a DICOM image, NIfTI, NRRD or zip file",
                    request.where, "name a scan in one of these formats");
    }
    return fail(ErrorCode::BadInput,
                "none of its " + std::to_string(request.files.size()) + " file(s) is a DICOM image",
                request.where, "name the folder that holds the scan");
}

bool says_invented(const std::string& text) {
    std::string lower = text;
    for (char& c : lower) c = char(std::tolower(static_cast<unsigned char>(c)));
    return lower.find("invented") != std::string::npos;
}

void describe(const std::vector<DicomFile>& images, OpenedScan& scan) {
    const DicomFile& first = images.front();
    scan.volume.series_uid = first.series_uid;
    scan.study = first.study;
    scan.volume.invented = std::any_of(images.begin(), images.end(), [](const DicomFile& image) {
        return says_invented(image.comments) || says_invented(image.description);
    });
    scan.source =
        images.size() == 1 && first.frames.size() > 1 ? "DICOM multi-frame file" : "DICOM series";
    scan.description = first.description;
    scan.encoding = first.encoding;
    if (first.colour == "MONOCHROME1") {
        scan.problems.push_back(
            "The scan is marked to be shown inverted; its grey values are used as stored.");
    }
    if (first.lossy || first.encoding.find("Lossy") != std::string::npos) {
        scan.problems.push_back(
            "The images were compressed with loss, so noise and fine detail are altered.");
    }
}

Result<ParsedScan> parse_dicom(const ReaderRequest& request, int memory_file, unsigned threads,
                               const Progress& progress) {
    auto find = look_at_files(request.files, threads, progress);
    if (!find) return tl::unexpected(find.error());
    if (find->images.empty()) return no_image(request, *find);
    auto images = choose_series(std::move(find->images), request.series_uid, request.where);
    if (!images) return tl::unexpected(images.error());
    auto stack = stack_slices(*images, request.where);
    if (!stack) {
        // A slice that was left out as broken is the likely reason for a gap.
        Error error = stack.error();
        if (!find->complaints.empty()) error.what += " (" + find->complaints.front() + ")";
        return tl::unexpected(error);
    }
    const std::size_t count = stack->geometry.voxel_count();
    if (count > request.voxel_limit) {
        return fail(ErrorCode::Unsupported, "the scan has more voxels than can be read",
                    request.where, "export a smaller region");
    }
    ParsedScan parsed;
    parsed.scan.volume.geometry = stack->geometry;
    parsed.scan.problems = std::move(find->problems);
    parsed.scan.problems.insert(parsed.scan.problems.end(), stack->problems.begin(),
                                stack->problems.end());
    describe(*images, parsed.scan);
    parsed.in_memory_file = !std::all_of(images->begin(), images->end(), lies_unencoded);
    if (!parsed.in_memory_file) {
        parsed.files = std::move(*images);
        parsed.slices = std::move(stack->slices);
        return parsed;
    }
    const MappedMemoryFile memory(memory_file, count);
    auto line = fill_voxels(*images, *stack, open_frames, threads, progress, memory.voxels());
    if (!line) return tl::unexpected(line.error());
    parsed.scan.volume.slope = line->slope;
    parsed.scan.volume.intercept = line->intercept;
    return parsed;
}

Result<ParsedScan> parse_itk(const std::filesystem::path& file, ItkFormat format,
                             const ReaderRequest& request, int memory_file) {
    ParsedScan parsed;
    auto scan = read_itk_image(file, format, request.voxel_limit);
    if (!scan) return tl::unexpected(scan.error());
    parsed.scan = std::move(*scan);
    parsed.in_memory_file = true;
    const Voxels& voxels = parsed.scan.volume.voxels;
    const MappedMemoryFile memory(memory_file, voxels.size());
    std::copy(voxels.begin(), voxels.end(), memory.voxels());
    return parsed;
}

}  // namespace

Result<ParsedScan> parse_scan(const ReaderRequest& request, int memory_file,
                              const Progress& progress) {
    const unsigned threads = request.threads == 0 ? default_threads() : request.threads;
    // One NIfTI or NRRD file, given itself or as the only one of its kind in a folder without DICOM
    // images.
    const std::filesystem::path* other = nullptr;
    ItkFormat format = ItkFormat::None;
    std::size_t others = 0;
    for (const auto& file : request.files) {
        if (request.files.size() > 8) break;
        if (const ItkFormat f = itk_format_of(file); f != ItkFormat::None) {
            other = &file;
            format = f;
            ++others;
        }
    }
    if (others == 1 && !request.folder) return parse_itk(*other, format, request, memory_file);
    auto dicom = parse_dicom(request, memory_file, threads, progress);
    if (dicom || others != 1) return dicom;
    return parse_itk(*other, format, request, memory_file);
}

Result<std::vector<SeriesInfo>> parse_listing(const ReaderRequest& request,
                                              const Progress& progress) {
    auto find = look_at_files(request.files, 0, progress);
    if (!find) return tl::unexpected(find.error());
    if (!find->images.empty()) return series_of(find->images);
    for (const auto& file : request.files) {
        if (itk_format_of(file) != ItkFormat::None) return std::vector<SeriesInfo>{};
    }
    return no_image(request, *find);
}

}  // namespace anfract
