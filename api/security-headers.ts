/** Headers that let the app's own files run and nothing else: no inline script or style, no foreign frame, no sniffing. */
import { secureHeaders } from "hono/secure-headers";

export const securityHeaders = () =>
  secureHeaders({
    contentSecurityPolicy: {
      defaultSrc: ["'none'"],
      scriptSrc: ["'self'"],
      styleSrc: ["'self'"],
      imgSrc: ["'self'", "data:", "blob:"],
      connectSrc: ["'self'"],
      workerSrc: ["'self'"],
      manifestSrc: ["'self'"],
      baseUri: ["'none'"],
      formAction: ["'none'"],
      frameAncestors: ["'none'"],
    },
    permissionsPolicy: { camera: ["self"], microphone: [], geolocation: [], bluetooth: ["self"], serial: ["self"] },
    referrerPolicy: "no-referrer",
    xFrameOptions: "DENY",
    strictTransportSecurity: false,
  });
