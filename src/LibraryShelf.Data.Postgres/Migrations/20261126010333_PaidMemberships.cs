using Microsoft.EntityFrameworkCore.Migrations;
using Npgsql.EntityFrameworkCore.PostgreSQL.Metadata;

#nullable disable

namespace LibraryShelf.Data.Postgres.Migrations
{
    /// <inheritdoc />
    public partial class PaidMemberships : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<string>(
                name: "AfterLeaving",
                table: "Shops",
                type: "text",
                nullable: false,
                defaultValue: "PaidMonths",
                collation: "C");

            migrationBuilder.AddColumn<string>(
                name: "ConsentWords",
                table: "Shops",
                type: "text",
                nullable: false,
                defaultValue: "",
                collation: "C");

            migrationBuilder.AddColumn<string>(
                name: "TermsVersion",
                table: "Shops",
                type: "text",
                nullable: false,
                defaultValue: "",
                collation: "C");

            migrationBuilder.AddColumn<string>(
                name: "Month",
                table: "Libraries",
                type: "text",
                nullable: true,
                collation: "C");

            migrationBuilder.CreateTable(
                name: "PaidMonths",
                columns: table => new
                {
                    PersonId = table.Column<long>(type: "bigint", nullable: false),
                    Month = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    PaymentId = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    OpensAt = table.Column<long>(type: "bigint", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_PaidMonths", x => new { x.PersonId, x.Month });
                    table.ForeignKey(
                        name: "FK_PaidMonths_AspNetUsers_PersonId",
                        column: x => x.PersonId,
                        principalTable: "AspNetUsers",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "PaymentEvents",
                columns: table => new
                {
                    Id = table.Column<long>(type: "bigint", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    ProviderId = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Kind = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    SubjectKind = table.Column<string>(type: "text", nullable: true, collation: "C"),
                    SubjectId = table.Column<string>(type: "text", nullable: true, collation: "C"),
                    ReceivedAt = table.Column<long>(type: "bigint", nullable: false),
                    DoneAt = table.Column<long>(type: "bigint", nullable: true),
                    Tries = table.Column<int>(type: "integer", nullable: false),
                    NextTryAt = table.Column<long>(type: "bigint", nullable: true),
                    Trouble = table.Column<string>(type: "text", nullable: true, collation: "C")
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_PaymentEvents", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "Plans",
                columns: table => new
                {
                    Id = table.Column<long>(type: "bigint", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    Months = table.Column<int>(type: "integer", nullable: false),
                    Minor = table.Column<long>(type: "bigint", nullable: false),
                    Currency = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    IsTaxIncluded = table.Column<bool>(type: "boolean", nullable: false),
                    ProviderId = table.Column<string>(type: "text", nullable: true, collation: "C"),
                    CreatedAt = table.Column<long>(type: "bigint", nullable: false),
                    ClosedAt = table.Column<long>(type: "bigint", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Plans", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "Joinings",
                columns: table => new
                {
                    Id = table.Column<long>(type: "bigint", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    Email = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    NormalizedEmail = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    PlanId = table.Column<long>(type: "bigint", nullable: false),
                    PersonId = table.Column<long>(type: "bigint", nullable: true),
                    ConsentWords = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    ButtonWords = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    TermsVersion = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    AfterLeaving = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    AgreedAt = table.Column<long>(type: "bigint", nullable: false),
                    TokenHash = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    CheckoutId = table.Column<string>(type: "text", nullable: true, collation: "C"),
                    PaidAt = table.Column<long>(type: "bigint", nullable: true),
                    IsNewPerson = table.Column<bool>(type: "boolean", nullable: false),
                    SignedInAt = table.Column<long>(type: "bigint", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Joinings", x => x.Id);
                    table.ForeignKey(
                        name: "FK_Joinings_Plans_PlanId",
                        column: x => x.PlanId,
                        principalTable: "Plans",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Restrict);
                });

            migrationBuilder.CreateTable(
                name: "PaidMemberships",
                columns: table => new
                {
                    Id = table.Column<long>(type: "bigint", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    PersonId = table.Column<long>(type: "bigint", nullable: false),
                    PlanId = table.Column<long>(type: "bigint", nullable: true),
                    ProviderId = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    CustomerId = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    StartedAt = table.Column<long>(type: "bigint", nullable: false),
                    PaidThrough = table.Column<long>(type: "bigint", nullable: true),
                    LeavesAt = table.Column<long>(type: "bigint", nullable: true),
                    EndedAt = table.Column<long>(type: "bigint", nullable: true),
                    IsPaused = table.Column<bool>(type: "boolean", nullable: false),
                    ActiveUntil = table.Column<long>(type: "bigint", nullable: false),
                    JoinedUnder = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    AskedAt = table.Column<long>(type: "bigint", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_PaidMemberships", x => x.Id);
                    table.ForeignKey(
                        name: "FK_PaidMemberships_AspNetUsers_PersonId",
                        column: x => x.PersonId,
                        principalTable: "AspNetUsers",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Restrict);
                    table.ForeignKey(
                        name: "FK_PaidMemberships_Plans_PlanId",
                        column: x => x.PlanId,
                        principalTable: "Plans",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Restrict);
                });

            migrationBuilder.CreateTable(
                name: "LeaveTickets",
                columns: table => new
                {
                    Id = table.Column<long>(type: "bigint", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    PaidMembershipId = table.Column<long>(type: "bigint", nullable: false),
                    TokenHash = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    CreatedAt = table.Column<long>(type: "bigint", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_LeaveTickets", x => x.Id);
                    table.ForeignKey(
                        name: "FK_LeaveTickets_PaidMemberships_PaidMembershipId",
                        column: x => x.PaidMembershipId,
                        principalTable: "PaidMemberships",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "Payments",
                columns: table => new
                {
                    Id = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    PaidMembershipId = table.Column<long>(type: "bigint", nullable: false),
                    PersonId = table.Column<long>(type: "bigint", nullable: false),
                    Minor = table.Column<long>(type: "bigint", nullable: false),
                    Currency = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Months = table.Column<int>(type: "integer", nullable: false),
                    PeriodStart = table.Column<long>(type: "bigint", nullable: false),
                    PeriodEnd = table.Column<long>(type: "bigint", nullable: false),
                    PaidAt = table.Column<long>(type: "bigint", nullable: false),
                    RefundedMinor = table.Column<long>(type: "bigint", nullable: false),
                    TakenBackAt = table.Column<long>(type: "bigint", nullable: true),
                    IsDisputeLost = table.Column<bool>(type: "boolean", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Payments", x => x.Id);
                    table.ForeignKey(
                        name: "FK_Payments_PaidMemberships_PaidMembershipId",
                        column: x => x.PaidMembershipId,
                        principalTable: "PaidMemberships",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Restrict);
                });

            migrationBuilder.CreateIndex(
                name: "IX_Joinings_CheckoutId",
                table: "Joinings",
                column: "CheckoutId");

            migrationBuilder.CreateIndex(
                name: "IX_Joinings_NormalizedEmail",
                table: "Joinings",
                column: "NormalizedEmail");

            migrationBuilder.CreateIndex(
                name: "IX_Joinings_PlanId",
                table: "Joinings",
                column: "PlanId");

            migrationBuilder.CreateIndex(
                name: "IX_Joinings_TokenHash",
                table: "Joinings",
                column: "TokenHash",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_LeaveTickets_PaidMembershipId",
                table: "LeaveTickets",
                column: "PaidMembershipId");

            migrationBuilder.CreateIndex(
                name: "IX_LeaveTickets_TokenHash",
                table: "LeaveTickets",
                column: "TokenHash",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_PaidMemberships_CustomerId",
                table: "PaidMemberships",
                column: "CustomerId");

            migrationBuilder.CreateIndex(
                name: "IX_PaidMemberships_PersonId_ActiveUntil",
                table: "PaidMemberships",
                columns: new[] { "PersonId", "ActiveUntil" });

            migrationBuilder.CreateIndex(
                name: "IX_PaidMemberships_PlanId",
                table: "PaidMemberships",
                column: "PlanId");

            migrationBuilder.CreateIndex(
                name: "IX_PaidMemberships_ProviderId",
                table: "PaidMemberships",
                column: "ProviderId",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_PaymentEvents_DoneAt",
                table: "PaymentEvents",
                column: "DoneAt");

            migrationBuilder.CreateIndex(
                name: "IX_PaymentEvents_ProviderId",
                table: "PaymentEvents",
                column: "ProviderId",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_Payments_PaidMembershipId",
                table: "Payments",
                column: "PaidMembershipId");

            migrationBuilder.CreateIndex(
                name: "IX_Payments_PersonId",
                table: "Payments",
                column: "PersonId");

            migrationBuilder.CreateIndex(
                name: "IX_Plans_ProviderId",
                table: "Plans",
                column: "ProviderId",
                unique: true);

            // What first came out for members is the box of that month; the day is UTC's, as no zone is known here.
            migrationBuilder.Sql(
                """
                UPDATE "Libraries" SET "Month" = to_char(to_timestamp((SELECT MIN(r."PublishedAt") FROM "Releases" r WHERE r."LibraryId" = "Libraries"."Id") / 1000) AT TIME ZONE 'UTC', 'YYYY-MM')
                WHERE (SELECT a."Audience" FROM "AudienceDecisions" a WHERE a."LibraryId" = "Libraries"."Id" ORDER BY a."DecidedAt", a."Id" LIMIT 1) = 'Members'
                """);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "Joinings");

            migrationBuilder.DropTable(
                name: "LeaveTickets");

            migrationBuilder.DropTable(
                name: "PaidMonths");

            migrationBuilder.DropTable(
                name: "PaymentEvents");

            migrationBuilder.DropTable(
                name: "Payments");

            migrationBuilder.DropTable(
                name: "PaidMemberships");

            migrationBuilder.DropTable(
                name: "Plans");

            migrationBuilder.DropColumn(
                name: "AfterLeaving",
                table: "Shops");

            migrationBuilder.DropColumn(
                name: "ConsentWords",
                table: "Shops");

            migrationBuilder.DropColumn(
                name: "TermsVersion",
                table: "Shops");

            migrationBuilder.DropColumn(
                name: "Month",
                table: "Libraries");
        }
    }
}
