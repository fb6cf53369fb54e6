#include "dicom_file.h"

#include <dcmtk/config/osconfig.h>
#include <dcmtk/dcmdata/dcistrmb.h>
#include <dcmtk/dcmdata/dcrledrg.h>
#include <dcmtk/dcmdata/dcspchrs.h>
#include <dcmtk/dcmdata/dctk.h>
#include <dcmtk/dcmjpeg/djdecode.h>
#include <dcmtk/dcmjpls/djdecode.h>

#include <memory>
#include <mutex>
#include <nlohmann/json.hpp>
#include <optional>
#include <string_view>
#include <vector>

#include "dicom_frames.h"
#include "file_bytes.h"
#include "nesting_guard.h"

namespace anfract {
namespace {

constexpr std::size_t first_chunk = 8192;
constexpr std::size_t longest_header = std::size_t{1} << 27;
constexpr int largest_side = 16384;

/// UTF-8 without control characters: what is no UTF-8 is replaced by U+FFFD.
std::string text_of(const OFString& value) {
    std::string text(value.c_str(), value.size());
    while (!text.empty() && (text.back() == ' ' || text.back() == '\0')) text.pop_back();
    for (char& c : text) {
        if (static_cast<unsigned char>(c) < 0x20) c = ' ';
    }
    using nlohmann::json;
    return json::parse(json(text).dump(-1, ' ', false, json::error_handler_t::replace));
}

std::string text_at(DcmItem& item, const DcmTagKey& tag) {
    OFString value;
    return item.findAndGetOFStringArray(tag, value).good() ? text_of(value) : "";
}

/// A text for people, which is written in the character set that the data set names.
std::string prose_at(DcmItem& dataset, const DcmTagKey& tag) {
    OFString value, converted;
    if (dataset.findAndGetOFStringArray(tag, value).bad()) return {};
    DcmSpecificCharacterSet characters;
    if (characters.selectCharacterSet(dataset).good() &&
        characters.convertString(value, converted).good())
        return text_of(converted);
    return text_of(value);
}

/// One value of one kind, or nothing where it cannot be that.
DicomStudy study_of(DcmItem& dataset) {
    DicomStudy study;
    study.study_uid = text_at(dataset, DCM_StudyInstanceUID);
    study.frame_uid = text_at(dataset, DCM_FrameOfReferenceUID);
    study.study_date = text_at(dataset, DCM_StudyDate);
    study.study_time = text_at(dataset, DCM_StudyTime);
    study.study_id = prose_at(dataset, DCM_StudyID);
    study.accession_number = prose_at(dataset, DCM_AccessionNumber);
    study.patient_name = prose_at(dataset, DCM_PatientName);
    study.patient_id = prose_at(dataset, DCM_PatientID);
    study.birth_date = text_at(dataset, DCM_PatientBirthDate);
    study.sex = text_at(dataset, DCM_PatientSex);
    for_each_member(study, [](const char*, std::string& text) {
        if (text.size() > longest_study_text_bytes || text.find('\\') != std::string::npos)
            text.clear();
    });
    for (std::string* uid : {&study.study_uid, &study.frame_uid})
        if (!is_dicom_uid(*uid)) uid->clear();
    return study;
}

/// The system's tables of character sets are loaded as code when they are first used, which the
/// jail forbids: they are kept open from before.
void load_character_sets() {
    static std::vector<std::unique_ptr<DcmSpecificCharacterSet>> kept;
    for (const char* name : {"ISO_IR 100", "ISO_IR 101", "ISO_IR 109", "ISO_IR 110", "ISO_IR 144",
                             "ISO_IR 127", "ISO_IR 126", "ISO_IR 138", "ISO_IR 148", "ISO_IR 13",
                             "ISO_IR 166", "ISO_IR 192", "GB18030", "GBK", "\\ISO 2022 IR 87",
                             "\\ISO 2022 IR 159", "\\ISO 2022 IR 149", "\\ISO 2022 IR 58"}) {
        auto characters = std::make_unique<DcmSpecificCharacterSet>();
        if (characters->selectCharacterSet(name).good()) kept.push_back(std::move(characters));
    }
}

int number_at(DcmItem& item, const DcmTagKey& tag, int missing) {
    Uint16 value = 0;
    return item.findAndGetUint16(tag, value).good() ? value : missing;
}

/// A file without the DICM mark may still be a bare data set: it then begins with group 0002 or
/// 0008.
bool may_be_dicom(std::string_view head) {
    if (head.size() >= 132 && head.substr(128, 4) == "DICM") return true;
    if (head.size() < 8) return false;
    const auto byte = [&](std::size_t n) { return static_cast<unsigned char>(head[n]); };
    const bool little = (byte(0) == 8 || byte(0) == 2) && byte(1) == 0 && byte(3) <= 1;
    const bool big = byte(0) == 0 && byte(1) == 8 && byte(2) <= 1;
    return little || big;
}

/// A parsed header: the data set up to the pixel data, and where those begin.
struct ParsedHeader {
    DcmFileFormat format;
    E_TransferSyntax syntax = EXS_Unknown;
    std::uint64_t stopped_at = 0;
    bool needs_more = false;
    bool good = false;
};

void parse(const DicomBytes& source, ParsedHeader& header) {
    DcmInputBufferStream stream;
    stream.setBuffer(source.bytes.data(), offile_off_t(source.bytes.size()));
    if (source.complete) stream.setEos();
    OFCondition status;
    DcmDataset& dataset = *header.format.getDataset();
    if (source.inflated) {
        dataset.transferInit();
        status = dataset.readUntilTag(stream, EXS_LittleEndianExplicit, EGL_noChange,
                                      DCM_MaxReadLength, DCM_PixelData);
        dataset.transferEnd();
        header.syntax = EXS_DeflatedLittleEndianExplicit;
    } else {
        header.format.transferInit();
        status = header.format.readUntilTag(stream, EXS_Unknown, EGL_noChange, DCM_MaxReadLength,
                                            DCM_PixelData);
        header.format.transferEnd();
        header.syntax = dataset.getOriginalXfer();
    }
    header.stopped_at = std::uint64_t(stream.tell());
    header.good = status.good();
    header.needs_more = !source.complete && (status == EC_StreamNotifyClient ||
                                             header.stopped_at + 16 > source.bytes.size());
}

/// Reads the tag and length before `stopped_at` and fills in where the pixel data lie. False when
/// the parser did not stop at pixel data.
bool locate_pixels(std::string_view bytes, const ParsedHeader& header, DicomFile& file) {
    const DcmXfer syntax(header.syntax);
    const bool explicit_vr =
        header.syntax == EXS_DeflatedLittleEndianExplicit || syntax.isExplicitVR();
    const bool big = syntax.isBigEndian();
    const std::size_t head = explicit_vr ? 12 : 8;
    if (header.stopped_at < head || header.stopped_at > bytes.size()) return false;
    const std::string_view element = bytes.substr(header.stopped_at - head, head);
    if (element.substr(0, 4) !=
        (big ? std::string_view("\x7F\xE0\x00\x10", 4) : std::string_view("\xE0\x7F\x10\x00", 4))) {
        return false;
    }
    std::uint32_t length = 0;
    for (std::size_t b = 0; b < 4; ++b) {
        length = length << 8 | static_cast<unsigned char>(element[head - 4 + (big ? b : 3 - b)]);
    }
    file.pixel_offset = header.stopped_at;
    file.pixel_bytes = length;
    return true;
}

/// How the pixels of a transfer syntax are packed; nothing for one that cannot be read.
std::optional<PixelPacking> packing_of(E_TransferSyntax syntax) {
    switch (syntax) {
        case EXS_LittleEndianImplicit:
        case EXS_LittleEndianExplicit:
            return PixelPacking::NativeLittleEndian;
        case EXS_BigEndianExplicit:
            return PixelPacking::NativeBigEndian;
        case EXS_DeflatedLittleEndianExplicit:
            return PixelPacking::Deflated;
        case EXS_JPEG2000LosslessOnly:
        case EXS_JPEG2000:
            return PixelPacking::Jpeg2000;
        case EXS_RLELossless:
        case EXS_JPEGProcess1:
        case EXS_JPEGProcess2_4:
        case EXS_JPEGProcess14:
        case EXS_JPEGProcess14SV1:
        case EXS_JPEGLSLossless:
        case EXS_JPEGLSLossy:
            return PixelPacking::DcmtkCodec;
        default:
            return std::nullopt;
    }
}

/// Sets `complaint` when the pixels are of a kind that is not read.
std::string unsupported_pixels(DcmItem& dataset, const DicomFile& file) {
    const int samples = number_at(dataset, DCM_SamplesPerPixel, 1);
    if (samples != 1 || (!file.colour.empty() && file.colour.rfind("MONOCHROME", 0) != 0)) {
        return "it is a colour image (" +
               (file.colour.empty() ? "several samples per pixel" : file.colour) + "), not a scan";
    }
    const PixelLayout& l = file.layout;
    if (l.bits_allocated != 8 && l.bits_allocated != 16) {
        return "its pixels have " + std::to_string(l.bits_allocated) +
               " bits, only 8 and 16 are read";
    }
    return {};
}

std::string broken_layout(const PixelLayout& l) {
    if (l.rows < 1 || l.columns < 1 || l.rows > largest_side || l.columns > largest_side) {
        return "its size of " + std::to_string(l.columns) + " x " + std::to_string(l.rows) +
               " pixels is not possible";
    }
    if (l.bits_stored < 1 || l.bits_stored > l.bits_allocated || l.high_bit >= l.bits_allocated ||
        l.high_bit + 1 < l.bits_stored) {
        return "its bit numbers contradict each other (" + std::to_string(l.bits_allocated) +
               " allocated, " + std::to_string(l.bits_stored) + " stored, high bit " +
               std::to_string(l.high_bit) + ")";
    }
    return {};
}

DicomLook look(DicomLook::Kind kind, std::string complaint = {}) {
    return {kind, std::move(complaint), {}};
}

DicomLook interpret(const std::filesystem::path& path, ParsedHeader& header,
                    std::string_view bytes) {
    using Kind = DicomLook::Kind;
    DcmDataset& dataset = *header.format.getDataset();
    DicomFile file;
    file.path = path;
    file.layout.rows = number_at(dataset, DCM_Rows, 0);
    file.layout.columns = number_at(dataset, DCM_Columns, 0);
    if (!locate_pixels(bytes, header, file)) {
        if (file.layout.rows == 0) return look(Kind::NoImage);
        return look(Kind::Broken, "its pixel data are missing, perhaps the file was cut off");
    }
    file.layout.bits_allocated = number_at(dataset, DCM_BitsAllocated, 16);
    file.layout.bits_stored = number_at(dataset, DCM_BitsStored, file.layout.bits_allocated);
    file.layout.high_bit = number_at(dataset, DCM_HighBit, file.layout.bits_stored - 1);
    file.layout.is_signed = number_at(dataset, DCM_PixelRepresentation, 0) == 1;
    file.colour = text_at(dataset, DCM_PhotometricInterpretation);
    if (auto complaint = unsupported_pixels(dataset, file); !complaint.empty()) {
        return look(Kind::Unsupported, complaint);
    }
    if (auto complaint = broken_layout(file.layout); !complaint.empty())
        return look(Kind::Broken, complaint);
    file.encoding = DcmXfer(header.syntax).getXferName();
    auto packing = packing_of(header.syntax);
    // DCMTK takes a transfer syntax it has never heard of for explicit little endian; pixels of no
    // stated length then give it away as an encoding.
    constexpr std::uint32_t no_length = 0xFFFFFFFF;
    if (packing && *packing == PixelPacking::NativeLittleEndian && file.pixel_bytes == no_length) {
        file.encoding = text_at(*header.format.getMetaInfo(), DCM_TransferSyntaxUID);
        packing.reset();
    }
    if (!packing) return look(Kind::Unsupported, "its encoding " + file.encoding + " is not read");
    file.packing = *packing;
    file.series_uid = text_at(dataset, DCM_SeriesInstanceUID);
    file.study = study_of(dataset);
    file.sop_uid = text_at(dataset, DCM_SOPInstanceUID);
    file.description = prose_at(dataset, DCM_SeriesDescription);
    file.comments = prose_at(dataset, DCM_ImageComments);
    file.lossy = text_at(dataset, DCM_LossyImageCompression) == "01";
    Sint32 instance = 0;
    dataset.findAndGetSint32(DCM_InstanceNumber, instance);
    file.instance_number = instance;
    std::string complaint;
    auto frames = frames_of(dataset, complaint);
    if (!frames) return look(Kind::Broken, complaint);
    file.frames = std::move(*frames);
    return {Kind::Image, {}, std::move(file)};
}

}  // namespace

void prepare_dcmtk() {
    static std::once_flag once;
    std::call_once(once, [] {
        OFLog::configure(OFLogger::OFF_LOG_LEVEL);
        load_character_sets();
        DcmRLEDecoderRegistration::registerCodecs();
        DJDecoderRegistration::registerCodecs();
        DJLSDecoderRegistration::registerCodecs();
    });
}

DicomLook look_at_dicom(const std::filesystem::path& path) {
    using Kind = DicomLook::Kind;
    prepare_dcmtk();
    const FileBytes raw(path);
    if (!raw.good()) return look(Kind::NotDicom);
    for (std::size_t chunk = first_chunk;; chunk *= 8) {
        if (chunk > longest_header)
            return look(Kind::Broken, "its header is longer than any real one");
        const auto source = dicom_bytes(raw, chunk);
        if (!source) return look(Kind::Broken, "its data cannot be read or inflated");
        if (!source->inflated && !may_be_dicom(source->bytes)) return look(Kind::NotDicom);
        if (nested_too_deeply(source->bytes))
            return look(Kind::Broken, "its items are nested too deeply");
        ParsedHeader header;
        parse(*source, header);
        if (header.needs_more) continue;
        const bool marked =
            source->bytes.size() >= 132 && source->bytes.compare(128, 4, "DICM") == 0;
        if (!header.good) {
            if (!marked && !source->inflated) return look(Kind::NotDicom);
            return look(Kind::Broken, "its header cannot be parsed, perhaps the file was cut off");
        }
        DicomLook result = interpret(path, header, source->bytes);
        // A text that happens to begin like a data set has no image and no mark.
        if (result.kind == Kind::NoImage && !marked && !source->inflated)
            return look(Kind::NotDicom);
        return result;
    }
}

}  // namespace anfract
