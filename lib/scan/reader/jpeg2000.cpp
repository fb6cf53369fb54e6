#include "jpeg2000.h"

#include <openjpeg.h>

#include <algorithm>
#include <cstring>
#include <memory>

namespace anfract {
namespace {

struct Source {
    std::string_view bytes;
    std::size_t at = 0;
};

OPJ_SIZE_T read_some(void* to, OPJ_SIZE_T count, void* user) {
    auto& source = *static_cast<Source*>(user);
    const std::size_t n = std::min<std::size_t>(count, source.bytes.size() - source.at);
    if (n == 0) return static_cast<OPJ_SIZE_T>(-1);
    std::memcpy(to, source.bytes.data() + source.at, n);
    source.at += n;
    return n;
}

OPJ_OFF_T skip_some(OPJ_OFF_T count, void* user) {
    auto& source = *static_cast<Source*>(user);
    if (count < 0) return -1;
    const std::size_t n =
        std::min<std::size_t>(std::size_t(count), source.bytes.size() - source.at);
    source.at += n;
    return static_cast<OPJ_OFF_T>(n);
}

OPJ_BOOL seek_to(OPJ_OFF_T offset, void* user) {
    auto& source = *static_cast<Source*>(user);
    if (offset < 0 || std::size_t(offset) > source.bytes.size()) return OPJ_FALSE;
    source.at = std::size_t(offset);
    return OPJ_TRUE;
}

using Codec = std::unique_ptr<opj_codec_t, decltype(&opj_destroy_codec)>;
using Stream = std::unique_ptr<opj_stream_t, decltype(&opj_stream_destroy)>;
using Image = std::unique_ptr<opj_image_t, decltype(&opj_image_destroy)>;

}  // namespace

std::string decode_jpeg2000(std::string_view bytes, int columns, int rows, std::int16_t* to) {
    Source source{bytes};
    const Stream stream(opj_stream_default_create(OPJ_TRUE), opj_stream_destroy);
    opj_stream_set_user_data(stream.get(), &source, nullptr);
    opj_stream_set_user_data_length(stream.get(), bytes.size());
    opj_stream_set_read_function(stream.get(), read_some);
    opj_stream_set_skip_function(stream.get(), skip_some);
    opj_stream_set_seek_function(stream.get(), seek_to);
    const bool boxed = bytes.size() > 8 && bytes.substr(4, 4) == "jP  ";
    const Codec codec(opj_create_decompress(boxed ? OPJ_CODEC_JP2 : OPJ_CODEC_J2K),
                      opj_destroy_codec);
    opj_dparameters_t parameters;
    opj_set_default_decoder_parameters(&parameters);
    const std::string damaged = "its JPEG 2000 data are damaged";
    if (!opj_setup_decoder(codec.get(), &parameters)) return damaged;
    // Strict: a cut-off code stream is an error, not a blurred slice.
    if (!opj_decoder_set_strict_mode(codec.get(), OPJ_TRUE)) return damaged;
    opj_image_t* raw = nullptr;
    const bool read = opj_read_header(stream.get(), codec.get(), &raw) != 0;
    const Image image(raw, opj_image_destroy);
    if (!read || !image) return damaged;
    const auto fits = [&] {
        return image->numcomps == 1 && image->comps[0].w == OPJ_UINT32(columns) &&
               image->comps[0].h == OPJ_UINT32(rows);
    };
    if (!fits())
        return "its JPEG 2000 data have another size or number of colours than its header says";
    if (!opj_decode(codec.get(), stream.get(), image.get()) ||
        !opj_end_decompress(codec.get(), stream.get()) || !fits() ||
        image->comps[0].data == nullptr) {
        return damaged;
    }
    const OPJ_INT32* const from = image->comps[0].data;
    const std::size_t count = std::size_t(columns) * std::size_t(rows);
    for (std::size_t n = 0; n < count; ++n) {
        to[n] = static_cast<std::int16_t>(static_cast<std::uint16_t>(from[n]));
    }
    return {};
}

}  // namespace anfract
