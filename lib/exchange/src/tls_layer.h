#pragma once

#include <dcmtk/config/osconfig.h>
#include <dcmtk/dcmtls/tlslayer.h>

#include <memory>

#include "anfract/base/result.h"
#include "anfract/exchange/dicom_tls.h"

namespace anfract {

/// The encryption of one side. Errors: BadInput names the file that is wrong.
Result<std::unique_ptr<DcmTLSTransportLayer>> tls_layer(const DicomTls& files, bool server);

}  // namespace anfract
