# One static binary on an empty image. Put the shop file into the data volume:
#   docker build -t tubhand .
#   docker run -p 8080:8080 -v tubhand:/data -v ./shop.yaml:/data/shop.yaml:ro tubhand
# The store lives in /data; keep it on a disk that honours a sync. The staff pages answer
# the container itself alone until there is a sign-in.
FROM golang:1.26 AS build
WORKDIR /src
COPY go.mod go.sum ./
RUN go mod download
COPY cmd cmd
COPY flows flows
COPY internal internal
COPY templates templates
RUN CGO_ENABLED=0 go build -trimpath -ldflags="-s -w" -o /out/tubhand ./cmd/tubhand \
 && mkdir /out/data

FROM scratch
COPY --from=build /etc/ssl/certs/ca-certificates.crt /etc/ssl/certs/
COPY --from=build /out/tubhand /tubhand
COPY --from=build --chown=65532:65532 /out/data /data
USER 65532:65532
VOLUME /data
EXPOSE 8080
HEALTHCHECK --interval=30s --timeout=6s --start-period=10s CMD ["/tubhand", "health"]
ENTRYPOINT ["/tubhand"]
CMD ["serve", "--shop", "/data/shop.yaml", "--data", "/data", "--listen", ":8080"]
